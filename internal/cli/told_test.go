package cli

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// told are the names of fields by the headings of docs/fields.md below which they stand.
func told(t *testing.T) map[string]map[string]bool {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(here, "../../docs/fields.md"))
	if err != nil {
		t.Fatal(err)
	}
	name := regexp.MustCompile("`([a-z_0-9]+)`")
	all, at := map[string]map[string]bool{}, ""
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if h, ok := strings.CutPrefix(line, "#"); ok {
			at = strings.Trim(h, "# ")
			all[at] = map[string]bool{}
		}
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if !strings.HasPrefix(line, "| `") || len(cells) != 2 {
			continue
		}
		for k, cell := range cells {
			for _, m := range name.FindAllStringSubmatch(cell, -1) {
				all[at][m[1]] = all[at][m[1]] || k == 0
			}
		}
	}
	return all
}

// keys are the names of all fields within a value, but for those within what stands under
// one of except, whose names are not the tool's own.
func keys(v any, into map[string]bool, except ...string) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			if into[k] = true; !slices.Contains(except, k) {
				keys(x, into, except...)
			}
		}
	case []any:
		for _, x := range v {
			keys(x, into, except...)
		}
	}
}

// What the tables of fields name is written, and what is written they name. What is there
// on some runs only is looked for in the code where no run here has it.
func TestFieldsAreTold(t *testing.T) {
	dir := bench(t, 9)
	t.Chdir(dir)
	touches := "# datum: 5,5\n"
	for i := range 30 {
		touches += []string{"5 5 0\n", "20 5 0.1\n", "40 5 0.3\n", "60 5 0.2\n", "5 40 0.1\n", "20 41 5.9\n", "40 40 0.2\n", "61 40 0.1\n", "5 80 0\n", "20 80 0.1\n", "40 80 0.3\n", "60 80 0.2\n", "5 5 0.01\n"}[i%13]
	}
	for name, text := range map[string]string{
		"bench.toml":  "z_rate_mm_min = 900\naccel_mm_s2 = 500\nz_accel_mm_s2 = 50\ncorner_mm = 0.01\n",
		"byhand.toml": "z_moves = \"by-hand\"\n",
		"touches.log": touches, "more.log": strings.ReplaceAll(touches, "0.2", "0.21"),
		"short.toml": "depth_mm = [-0.7, 0.7]\nsmallest_detail_mm = 0.2\n", "long.toml": "depth_mm = [-4, 4]\nsmallest_detail_mm = 2\n",
		"burns.toml": "[[burns]]\nlines = [1, 30]\nuse = 0.4\n",
		"job.toml":   "program = \"job.gcode\"\nsurface = \"bow.csv\"\ndepth = 0.7\n",
	} {
		write(t, filepath.Join(dir, name), text)
	}
	seen := map[string]map[string]bool{}
	note := func(at, file, part string, except ...string) {
		t.Helper()
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var v map[string]any
		if err := json.Unmarshal(text, &v); err != nil {
			t.Fatal(err)
		}
		if seen[at] == nil {
			seen[at] = map[string]bool{}
		}
		if part != "" {
			keys(v[part], seen[at], except...)
		} else {
			keys(v, seen[at], except...)
		}
	}
	for _, run := range []struct{ at, args string }{
		{"Of follow", "follow job.gcode -s bow.csv -l short.toml -m bench.toml -o out.gcode"},
		{"Of follow", "follow job.gcode -s bow.csv --depth 0.7 --surface-error 0.02 -o out2.gcode"},
		{"Of verify and report", "verify out.gcode -s bow.csv -l short.toml -m bench.toml --against job.gcode"},
		{"Of verify and report", "report out.gcode -s bow.csv -l short.toml -m bench.toml -o page.html"},
		{"Of verify and report", "verify job.gcode -s bow.csv -l short.toml"},
		{"Of follow", "follow job.gcode -s bow.csv -l short.toml --burns burns.toml -o out3.gcode"},
		{"Of verify and report", "verify out3.gcode -s bow.csv -l short.toml --burns burns.toml --against job.gcode"},
		{"Of split", "split job.gcode -s bow.csv -l short.toml -o zones"},
		{"Of split", "split job.gcode -s bow.csv -l short.toml -m byhand.toml -o byhand --pause"},
		{"Of verify and report", "verify zones"},
		{"Of advise", "advise job.gcode -s bow.csv -l short.toml -l long.toml -m bench.toml"},
		{"Of advise", "advise job.gcode -s bow.csv -l long.toml"},
		{"Of advise", "advise job.gcode -s bow.csv -l long.toml --burns burns.toml"},
		{"Of surface", "surface touches.log -o made.csv"},
		{"Of surface", "surface touches.log more.log -o made2.csv"},
	} {
		status, stderr := exitStatus(t, tool(append(strings.Fields(run.args), "--summary", "out.json")...))
		if status > 1 {
			t.Fatalf("%s: status %d: %s", run.args, status, stderr)
		}
		note(run.at, "out.json", "figures", "errors_mm", "proof")
		note("Figures, `--summary FILE`", "out.json", "", "figures", "inputs", "outputs", "options")
	}
	note("The list of a set, `set.json`", "zones/set.json", "", "options", "lenses", "machine", "files")
	note("The list of a set, `set.json`", "byhand/set.json", "", "options", "lenses", "machine", "files")
	if status, stderr := exitStatus(t, tool("run", "job.toml", "--log", "log.json")); status != 0 {
		t.Fatalf("run: status %d: %s", status, stderr)
	}
	note("The log of jobs, `run --log FILE`", "log.json", "", "inputs", "outputs")

	code := sourceText(t, "say", "../zone/sheet", "../job/batch")
	tables := told(t)
	for at, names := range seen {
		if tables[at] == nil {
			t.Errorf("no table %q", at)
		}
		for _, k := range slices.Sorted(maps.Keys(names)) {
			if _, is := tables[at][k]; !is {
				t.Errorf("%s: %s is written, and no row tells of it", at, k)
			}
		}
	}
	for at, names := range tables {
		for k, field := range names {
			if field && !seen[at][k] && !strings.Contains(code, `"`+k) {
				t.Errorf("%s: %s is told of, and nothing writes it", at, k)
			}
		}
	}
}

// sourceText is the code of rooms, without its tests.
func sourceText(t *testing.T, rooms ...string) string {
	t.Helper()
	var all strings.Builder
	for _, room := range rooms {
		names, err := filepath.Glob(filepath.Join(here, room, "*.go"))
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v, %v", room, names, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasSuffix(name, "_test.go") {
				all.Write(text)
			}
		}
	}
	return all.String()
}

// here is the folder of this room, whatever a test has changed to since.
var here, _ = os.Getwd()

// What the README says of exit statuses is what they are.
func TestStatusesAreTold(t *testing.T) {
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	statuses := []int{statusDone, statusDoesNotHold, statusUsage, statusInput, statusIO, statusInterrupted}
	var rows, want []string
	for _, s := range statuses {
		want = append(want, strconv.Itoa(s))
	}
	for _, m := range regexp.MustCompile(`(?m)^\| (\d+) \|`).FindAllSubmatch(text, -1) {
		rows = append(rows, string(m[1]))
	}
	if !slices.Equal(rows, want) {
		t.Errorf("rows of statuses %v, want %v", rows, want)
	}
}
