package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// way is one of those in which the table's constructs are done: a command with
// an option, or a program or bench that is a little different.
type way struct {
	command, name string
	args, verify  []string
	profile       string
	text          func(string) string
	// half tells that every second construct does for it, as what it joins is tried by
	// itself with all.
	half bool
}

// burnLast ends a program with its last burn, and that with no newline.
func burnLast(text string) string {
	return strings.TrimSuffix(text[:strings.LastIndex(text, "X20\n")+len("X20\n")], "\n")
}

// burnAndEnd ends a program with a burn that has M2 on its line, under air.
func burnAndEnd(text string) string {
	text = burnLast(text)
	return strings.TrimSuffix(text, "X20") + "M8\nX20 M2\n"
}

func ways() (list []way) {
	crlf := func(text string) string { return strings.ReplaceAll(text, "\n", "\r\n") }
	cut := func(text string) string { return strings.TrimSuffix(text, "\n") }
	for _, command := range []string{"follow", "split"} {
		list = append(list,
			way{command: command, name: "plain"},
			way{command: command, name: "numbered", profile: "numbered = true\n"},
			way{command: command, name: "CRLF", text: crlf},
			way{command: command, name: "no final newline", text: cut},
			way{command: command, name: "a burn at the end", text: burnLast},
			way{command: command, name: "a burn with M2, under air", text: burnAndEnd},
			way{command: command, name: "--rehearsal", args: []string{"--rehearsal"}, verify: []string{"--rehearsal"}})
	}
	for _, args := range []string{"--set-z", "--pause", "--follow", "--lead 1", "--overlap 0.2", "--pause --set-z", "--set-z --lead 1 --rehearsal"} {
		list = append(list, way{command: "split", name: args, args: strings.Fields(args), half: strings.Contains(args, " --")})
	}
	list = append(list, way{command: "split", name: "--follow, a burn with M2, under air", args: []string{"--follow"}, text: burnAndEnd, half: true})
	for _, name := range []string{"--pause", "--set-z"} {
		list = append(list, way{command: "split", name: name + ", CRLF", args: []string{name}, text: crlf, half: true},
			way{command: "split", name: name + ", a burn at the end", args: []string{name}, text: burnLast, half: true})
	}
	return list
}

// Each construct of the table is proved by verify, or refused with its
// place, in every way that a program can be written for it.
func TestReadmeTableEveryWay(t *testing.T) {
	rows := coverage(t)
	t.Chdir(t.TempDir())
	write(t, "bow.csv", "# error_mm: 0\ny\\x, -600, 0, 150, 300, 900\n-600, 0, 0, 3, 0, 0\n600, 0, 0, 3, 0, 0\n")
	for i, w := range ways() {
		for k, r := range rows {
			if w.half && (i+k)%2 == 1 {
				continue
			}
			name := w.command + " " + w.name + ": " + r.construct
			wrong := r.try(t, &w)
			switch gap := slices.Contains(gaps, name); {
			case wrong != "" && !gap:
				t.Errorf("%s: %s", name, wrong)
			case wrong == "" && gap:
				t.Errorf("%s: no gap any more: take it off the list", name)
			}
		}
	}
}

// try does a row in a way, and says what is wrong with what comes of it.
func (r *row) try(t *testing.T, w *way) (wrong string) {
	text, first, last := r.program(strings.Join(r.example, "\n") + "\n")
	if w.text != nil {
		text = w.text(text)
	}
	write(t, "job.gcode", text)
	profile := strings.Join(r.profile, "\n") + "\n"
	outcome := r.outcome
	switch {
	case w.profile == "" || strings.Contains(profile, w.profile):
	case strings.HasPrefix(r.construct, "lines to add"): // the bench that it is not for
		outcome = "followed"
		fallthrough
	default:
		profile += w.profile
	}
	write(t, "bench.toml", profile)
	for _, name := range []string{"out", "out.gcode"} {
		if err := os.RemoveAll(name); err != nil {
			t.Fatal(err)
		}
	}
	out := map[string]string{"follow": "out.gcode", "split": "out"}[w.command]
	flags := []string{"-s", "bow.csv", "--depth", "1", "-m", "bench.toml"}
	call := func(args ...string) (status int, said string) {
		var b bytes.Buffer
		status = Main(append(args, flags...), strings.NewReader(""), &b, &b)
		return status, b.String()
	}
	status, said := call(append([]string{w.command, "job.gcode", "-o", out}, w.args...)...)
	mayRefuse := outcome == "refused" || refuses(r.construct, w)
	switch {
	case status == statusInput && mayRefuse:
		place := regexp.MustCompile(`^job\.gcode:(\d+):\d+: .+\n.+\n *\^\n`).FindStringSubmatch(said)
		if place == nil {
			return "no place:\n" + said
		}
		if strings.HasPrefix(r.construct, "lines to add") {
			last += strings.Count(text, "\n")
		}
		if line, _ := strconv.Atoi(place[1]); line < first || line > last {
			return "refused elsewhere:\n" + said
		}
		return ""
	case status == statusDoesNotHold && slices.Contains(w.args, "--follow") && strings.Contains(said, "; split without following\n"):
		return "" // a limit of that way, which the other way has not
	case outcome == "refused":
		return "not refused: status " + strconv.Itoa(status) + "\n" + said
	case status != statusDone:
		return "status " + strconv.Itoa(status) + "\n" + said
	}
	if w.command == "split" && slices.Contains(w.args, "--rehearsal") {
		// It has been proved dark by split, and as a set with the beam on.
		if status, said := call("verify", out, "--against", "job.gcode"); status != statusUsage || !strings.Contains(said, "set of rehearsals") {
			return "verify of a set of rehearsals has status " + strconv.Itoa(status) + "\n" + said
		}
	} else if status, said = call(append([]string{"verify", out, "--against", "job.gcode"}, w.verify...)...); status != statusDone {
		return "verify has status " + strconv.Itoa(status) + "\n" + said
	}
	programs := []string{out}
	if w.command == "split" {
		programs, _ = filepath.Glob("out/job*")
	}
	for _, name := range programs {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if wrong := malformed(string(b), text, w); wrong != "" {
			return name + wrong
		}
	}
	return ""
}

// malformed tells what is wrong with the lines of a program, whatever they
// mean.
func malformed(out, text string, w *way) string {
	if strings.Contains(text, "\r\n") && strings.Count(out, "\n") != strings.Count(out, "\r\n") {
		return " has a line that ends otherwise:\n" + strconv.Quote(out)
	}
	return ""
}

// refuses tells what is refused in some ways although it is followed in others:
// a rehearsal passes no M word that it does not know.
func refuses(construct string, w *way) bool {
	return slices.Contains(w.args, "--rehearsal") && strings.HasPrefix(construct, "unknown M words, each")
}

// gaps are what fails in a way and is still to be mended. It is the only such
// list.
var gaps = []string{}
