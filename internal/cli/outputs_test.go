package cli

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// several are the commands that make more than one thing, with the names of what
// they make: "%s" stands for one, which the file may be called by another name, and
// "-" is standard output.
var several = []struct {
	args string
	outs []string
}{
	{"follow job.gcode -s bow.csv --depth 1 -o %s --summary %s", []string{"out.gcode", "out.json"}},
	{"follow job.gcode -s bow.csv --depth 1 -o %s --sheet %s --summary %s", []string{"out.gcode", "out.txt", "out.json"}},
	{"follow job.gcode -s bow.csv --depth 1 --summary %s", []string{"out.json", "-"}},
	{"verify job.gcode -s bow.csv --depth 4 --sheet %s --summary %s", []string{"out.txt", "out.json"}},
	{"verify job.gcode -s bow.csv --depth 4 --plot %s --summary %s", []string{"out.svg", "out.json"}},
	{"follow job.gcode -s bow.csv --depth 1 -o %s --plot %s --summary %s", []string{"out.gcode", "out.png", "out.json"}},
	{"follow job.gcode -s bow.csv --depth 1 --plot %s", []string{"out.svg", "-"}},
	{"split job.gcode -s bow.csv --depth 1 -o %s --plot %s --summary %s", []string{"zones", "out.svg", "out.json"}},
	{"advise job.gcode -s bow.csv --depth 1 --detail 0.5 --plot %s", []string{"out.svg", "-"}},
	{"report job.gcode -s bow.csv --depth 4 -o %s --sheet %s --summary %s", []string{"out.html", "out.txt", "out.json"}},
	{"split job.gcode -s bow.csv --depth 1 -o %s --summary %s", []string{"zones", "out.json"}},
	{"advise job.gcode -s bow.csv --depth 1 --detail 0.5 --summary %s", []string{"out.json", "-"}},
	{"surface touches.csv -o %s --plot %s --summary %s", []string{"out.csv", "out.svg", "out.json"}},
	{"ladder --step 0.5 --reach 2.5 --feed 1500 --power 30 -o %s --sheet %s --verdicts %s", []string{"out.gcode", "out.svg", "out.csv"}},
	{"lens show lens.toml --plot %s", []string{"out.svg", "-"}},
	{"probe job.gcode --bow 2 --by-hand -o %s", []string{"out.csv"}},      // and out.svg
	{"recheck job.gcode -s bow.csv --by-hand -o %s", []string{"out.csv"}}, // and out.svg
	{"place job.gcode -s bow.csv --places jig.toml -o %s --heights %s --summary %s", []string{"out.gcode", "out.csv", "out.json"}},
	{"demo -o %s", []string{"made/demo", "-"}},
}

// outputsBench is a bench with what those commands read.
func outputsBench(t *testing.T) (dir string, inputs []string) {
	dir = bench(t, 40)
	touches := ""
	for i := range 36 {
		touches += fmt.Sprintf("%d,%d,%g\n", i%6*20, i/6*20, float64(i%6)/10)
	}
	for name, text := range map[string]string{"touches.csv": touches, "jig.toml": "[[place]]\nshift = [0, 0]\n[[place]]\nshift = [200, 0]\nraise_mm = 1\n", "lens.toml": "name = \"a\"\nwavelength_nm = 10600\nwaist_um = 90\nm2 = 1.3\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		inputs = append(inputs, name)
	}
	return dir, inputs
}

// command is one of those commands with the outputs that have a name.
func commandOf(args string, outs []string) []string {
	for _, o := range outs {
		if o != "-" {
			args = strings.Replace(args, "%s", o, 1)
		}
	}
	return strings.Fields(args)
}

// Where one output of several cannot be written, none is there.
func TestAllOutputsOrNone(t *testing.T) {
	_, err := os.Stat("/dev/full")
	noFull := err != nil
	for _, c := range several {
		t.Run(strings.Fields(c.args)[0], func(t *testing.T) {
			dir, inputs := outputsBench(t)
			run := func(outs []string, stdout *os.File) (int, string) {
				x := tool(commandOf(c.args, outs)...)
				x.Dir = dir
				if stdout != nil {
					x.Stdout = stdout
				}
				return exitStatus(t, x)
			}
			for i, out := range c.outs {
				if out == "-" {
					if noFull {
						continue
					}
					full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
					if err != nil {
						t.Fatal(err)
					}
					status, msg := run(c.outs, full)
					_ = full.Close()
					if status != statusIO || !strings.Contains(msg, "writing standard output: ") {
						t.Errorf("%s, standard output full: status %d: %s", c.args, status, msg)
					}
					onlyThese(t, dir, inputs...)
					continue
				}
				for _, bad := range []string{"missing/" + out, "old/" + out, "full" + filepath.Ext(out)} {
					outs, more := slices.Clone(c.outs), inputs
					outs[i] = bad
					switch {
					case !strings.HasPrefix(bad, "full"):
					case noFull || filepath.Ext(out) == "":
						continue
					default:
						if err := os.Symlink("/dev/full", filepath.Join(dir, bad)); err != nil {
							t.Fatal(err)
						}
						more = append(slices.Clone(inputs), bad)
					}
					if bad == "missing/made/demo" {
						continue // it makes the folders
					}
					if status, msg := run(outs, nil); status != statusIO {
						t.Errorf("%s, %s: status %d: %s", c.args, bad, status, msg)
					}
					onlyThese(t, dir, more...)
					_ = os.Remove(filepath.Join(dir, "full"+filepath.Ext(out)))
				}
			}
			if status, msg := run(c.outs, nil); status != 0 {
				t.Fatalf("%s: status %d: %s", c.args, status, msg)
			}
			for _, out := range c.outs {
				if _, err := os.Stat(filepath.Join(dir, out)); err != nil && out != "-" {
					t.Error(err)
				}
			}
		})
	}
}

// Two outputs of one name are refused before anything is done, however it is written.
func TestTwoOutputsOfOneName(t *testing.T) {
	for _, c := range several {
		var named []int
		for i, out := range c.outs {
			if out != "-" && filepath.Ext(out) != "" {
				named = append(named, i)
			}
		}
		for _, pair := range [][2]int{{0, 1}, {0, 2}, {1, 2}} {
			if pair[1] >= len(named) {
				continue
			}
			dir, inputs := outputsBench(t)
			if err := os.Symlink(".", filepath.Join(dir, "here")); err != nil {
				t.Skip(err)
			}
			for _, other := range []string{"same.svg", "./same.svg", "here/same.svg"} {
				outs := slices.Clone(c.outs)
				outs[named[pair[0]]], outs[named[pair[1]]] = "same.svg", other
				x := tool(commandOf(c.args, outs)...)
				x.Dir = dir
				if status, msg := exitStatus(t, x); status != statusUsage || !strings.Contains(msg, "two results cannot both go to ") {
					t.Errorf("%s, %s: status %d: %s", c.args, other, status, msg)
				}
				onlyThese(t, dir, append(inputs, "here")...)
			}
		}
	}
	dir, inputs := outputsBench(t)
	for _, c := range []string{
		"follow job.gcode -s bow.csv --depth 1 --summary -",
		"advise job.gcode -s bow.csv --depth 1 --detail 0.5 --summary -",
		"surface touches.csv --summary -",
		"split job.gcode -s bow.csv --depth 1 -o zones --summary zones/sum.json",
		"split job.gcode -s bow.csv --depth 1 -o zones --summary zones",
		"split job.gcode -s bow.csv --depth 1 -o zones --plot zones/map.svg",
		"verify job.gcode -s bow.csv --depth 4 --plot -",
		"follow job.gcode -s bow.csv --depth 1 --plot job.pdf",
	} {
		x := tool(strings.Fields(c)...)
		x.Dir = dir
		if status, msg := exitStatus(t, x); status != statusUsage {
			t.Errorf("%s: status %d: %s", c, status, msg)
		}
		onlyThese(t, dir, inputs...)
	}
}

// On a disk that is full, or that is only read, nothing of a run is left, however far
// it came; nor is an old file touched.
func TestSmallDisk(t *testing.T) {
	const within = `mount -t tmpfs -o size=%s none disk && echo old > disk/out.json && %s "$0" %s; s=$?; echo; echo "[$(ls -A disk | tr '\n' ' ')]"; cat disk/out.json; exit $s`
	dir, _ := outputsBench(t)
	if err := os.Mkdir(filepath.Join(dir, "disk"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := exec.Command("unshare", "-Urm", "mount", "-t", "tmpfs", "none", filepath.Join(dir, "disk")).Run(); err != nil {
		t.Skip("no file system can be mounted here: ", err)
	}
	run := func(size, before, args string) (status int, msg string) {
		x := exec.Command("unshare", "-Urm", "sh", "-c", fmt.Sprintf(within, size, before, args), os.Args[0])
		x.Env = append(os.Environ(), asCommand+"=1")
		x.Dir = dir
		out, _ := x.Output()
		return x.ProcessState.ExitCode(), string(out)
	}
	for _, args := range []string{
		"follow job.gcode -s bow.csv --depth 1 -o disk/out.gcode --summary disk/out.json",
		"surface touches.csv -o disk/out.csv --plot disk/out.svg --summary disk/out.json",
		"split job.gcode -s bow.csv --depth 1 -o disk/zones --summary disk/out.json",
	} {
		failed := false
		for pages := 2; ; pages += 1 + pages/8 {
			status, msg := run(fmt.Sprint(4096*pages), "", args)
			if status == 0 {
				if strings.Contains(msg, "]\nold\n") {
					t.Errorf("%s: done, and the old file is there", args)
				}
				break
			}
			if failed = true; status != statusIO || !strings.HasSuffix(msg, "\n[out.json ]\nold\n") || pages > 1000 {
				t.Fatalf("%s on %d pages: status %d: %s", args, pages, status, msg)
			}
		}
		if !failed {
			t.Errorf("%s fits on two pages", args)
		}
		if status, msg := run("1m", "mount -o remount,ro disk &&", args); status != statusIO || !strings.HasSuffix(msg, "\n[out.json ]\nold\n") {
			t.Errorf("%s on a disk that is only read: status %d: %s", args, status, msg)
		}
	}
}
