package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// row is a row of the table of what is read, docs/programs.md.
type row struct {
	construct, outcome string
	example, profile   []string
}

// named finds what is said of a construct that passes with a word.
var named = regexp.MustCompile(`(?m)^sagitta: line \d+: .*(is unknown|passes as it is|is followed as one)`)

var code = regexp.MustCompile("`([^`]+)`")

// coverage reads the table.
func coverage(t *testing.T) (rows []row) {
	t.Helper()
	text, err := os.ReadFile("../../docs/programs.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ = bytes.Cut(text, []byte("| construct | example | outcome |\n|---|---|---|\n"))
	text, _, _ = bytes.Cut(text, []byte("\n\n"))
	for _, line := range strings.Split(string(text), "\n") {
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if len(cells) != 3 {
			t.Fatalf("a row of %d cells: %q", len(cells), line)
		}
		r := row{construct: cells[0], outcome: cells[2]}
		for _, m := range code.FindAllStringSubmatch(cells[0], -1) {
			if strings.Contains(m[1], " = ") {
				r.profile = append(r.profile, m[1])
			}
		}
		for _, m := range code.FindAllStringSubmatch(cells[1], -1) {
			r.example = append(r.example, strings.ReplaceAll(m[1], `\r`, "\r"))
		}
		if len(r.example) == 0 {
			t.Fatalf("a row without an example: %q", line)
		}
		rows = append(rows, r)
	}
	return rows
}

// Each construct of the table does what its row says, in a program
// that has to change on a bowed sheet.
func TestReadmeTable(t *testing.T) {
	rows := coverage(t)
	const least = 50 // about as many as there are: the table is found and read
	if len(rows) < least {
		t.Fatalf("%d rows, at least %d wanted", len(rows), least)
	}
	t.Chdir(t.TempDir())
	write(t, "bow.csv", "# error_mm: 0\ny\\x, -600, 0, 150, 300, 900\n-600, 0, 0, 3, 0, 0\n600, 0, 0, 3, 0, 0\n")
	for _, r := range rows {
		t.Run(r.construct, func(t *testing.T) { r.check(t) })
	}
}

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// program is the example within a program that burns along the bow.
func (r *row) program(example string) (text string, first, last int) {
	on, off := "M4 S600", "M5"
	if strings.Contains(strings.Join(r.profile, " "), "M106") {
		on, off = "M106 S600", "M107"
	}
	head := "G21 G90\n" + off + "\nG0 X10 Y10\n"
	tail := off + "\nG90 G91.1 G94\n" + on + "\nG1 X280 F2400\nX20\n" + off + "\nM2\n"
	if r.outcome == "passed" {
		return example + head + tail, 1, strings.Count(example, "\n")
	}
	first = 1 + strings.Count(head, "\n")
	return head + example + tail, first, first + strings.Count(example, "\n") - 1
}

func (r *row) check(t *testing.T) {
	example := strings.Join(r.example, "\n") + "\n"
	text, first, last := r.program(example)
	write(t, "job.gcode", text)
	flags := []string{"-s", "bow.csv", "--depth", "1"}
	if len(r.profile) > 0 {
		write(t, "bench.toml", strings.Join(r.profile, "\n")+"\n")
		flags = append(flags, "-m", "bench.toml")
	}
	follow := func(name string) (out, said string, status int) {
		_ = os.Remove("out.gcode")
		var stderr bytes.Buffer
		status = Main(append([]string{"follow", name, "-o", "out.gcode"}, flags...), strings.NewReader(""), &stderr, &stderr)
		b, _ := os.ReadFile("out.gcode")
		return string(b), stderr.String(), status
	}
	out, said, status := follow("job.gcode")
	once := 0
	if strings.Contains(r.construct, "named once") {
		once = 1
	}
	if got := len(named.FindAllString(said, -1)); got != once {
		t.Errorf("%d things are named, want %d\n%s", got, once, said)
	}
	switch r.outcome {
	case "followed":
		var stderr bytes.Buffer
		if status != statusDone || out == text {
			t.Fatalf("status %d, changed %v\n%s", status, out != text, said)
		}
		verify := append([]string{"verify", "out.gcode", "--against", "job.gcode"}, flags...)
		if status := Main(verify, strings.NewReader(""), &stderr, &stderr); status != statusDone {
			t.Errorf("verify has status %d\n%s\n%s", status, stderr.String(), out)
		}
	case "passed":
		plain, _, _ := r.program("")
		write(t, "plain.gcode", plain)
		want, _, _ := follow("plain.gcode")
		if status != statusDone || out != example+want || want == plain {
			t.Errorf("status %d\n%s\n%s\nwant\n%s", status, said, out, example+want)
		}
	case "refused":
		place := regexp.MustCompile(`^job\.gcode:(\d+):\d+: .+\n.+\n *\^\n`).FindStringSubmatch(said)
		if status != statusInput || place == nil {
			t.Fatalf("status %d\n%s", status, said)
		}
		// Lines have to be added only where the program burns.
		if strings.HasPrefix(r.construct, "lines to add") {
			last += strings.Count(text, "\n")
		}
		if line, _ := strconv.Atoi(place[1]); line < first || line > last {
			t.Errorf("refused at line %d, want one from %d to %d\n%s", line, first, last, said)
		}
		if left, _ := filepath.Glob("out.gcode*"); len(left) > 0 {
			t.Errorf("left %v", left)
		}
	default:
		t.Errorf("outcome %q", r.outcome)
	}
}
