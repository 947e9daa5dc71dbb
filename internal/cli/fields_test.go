package cli

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/record"
)

// fieldsProgram has what the fields of a profile speak of: a closed figure, a rise of Z, a travel under power,
// an M word that is not known, power by the word that follows the speed and by the other.
const fieldsProgram = "G21 G90\nM5\nM106\nG0 Z2\nG0 X12 Y12\nZ0\nM4 S500\nG1 X88 F3000\nY40\nX12\nY12\nS0\nG0 X12 Y60\nS500\nG1 X88\nM3\nY88\nX12 M4\nX88 Y60\nS0\nG0 X20 Y30\nS500\nG1 X24\nG0 Y32\nG1 X20\nM5\nG0 X0 Y0\nM2\n"

// fieldsRuns are runs of which one at least is to turn out otherwise with a field set.
var fieldsRuns = []string{
	"follow job.gcode -s bow.csv -l lens.toml -m bench.toml -o out.gcode",
	"verify job.gcode -s bow.csv -l lens.toml -m bench.toml --focus 0.4",
	"split job.gcode -s bow.csv -l lens.toml -m bench.toml -o zones",
	"split job.gcode -s high.csv -l lens.toml -m bench.toml -o zones --pause",
	"split job.gcode -s high.csv -l lens.toml -l long.toml -m bench.toml -o zones",
	"advise job.gcode -s bow.csv -l lens.toml -m bench.toml --detail 0.4",
	"follow job.gcode -s high.csv -l lens.toml -m bench.toml -o out.gcode --slow burns",
	"follow job.gcode -s bow.csv -l lens.toml -m bench.toml --rehearsal -o out.gcode",
	"probe job.gcode -l lens.toml -m bench.toml -o touch.gcode",
	"ladder -l lens.toml -m bench.toml --feed 1500 --power 30 --step 0.5 --reach 2.5 -o ladder.gcode",
	"ladder -l lens.toml -m bench.toml --feed 1500 --power 30 -o ladder.gcode",
}

// fieldsSet is what fields are set to that the example of their tag would not show, and
// what else the record has to say for that.
var fieldsSet = map[string][]string{
	"units":               {`"in"`},
	"z_axis":              {`"W"`},
	"z_plus":              {`"toward"`},
	"z_min_mm":            {"0.3"},
	"z_max_mm":            {"2.2"},
	"x_mm":                {"[0, 80]"},
	"y_mm":                {"[0, 80]"},
	"z_rate_mm_min":       {"3"},
	"z_resolution_mm":     {"0.05"},
	"rapid_mm_min":        {"700"},
	"accel_mm_s2":         {"100"},
	"stops_at_beam":       {"true", "accel_mm_s2 = 100"},
	"z_accel_mm_s2":       {"5", "accel_mm_s2 = 100"},
	"corner_mm":           {"0.2", "accel_mm_s2 = 100"},
	"speed_step_mm_s":     {"10", "accel_mm_s2 = 100"},
	"z_speed_step_mm_s":   {"0.1", "accel_mm_s2 = 100"},
	"feed_max_mm_min":     {"2900"},
	"decimals":            {"2"},
	"decimals_max":        {"3", "accel_mm_s2 = 100", "z_speed_step_mm_s = 0.01"},
	"line_max":            {"60"},
	"lines_per_s":         {"0.5"},
	"beam_on":             {`["M3"]`},
	"beam_off":            {`["M9"]`},
	"power_word":          {`"Q"`},
	"power_follows_speed": {"[]"},
	"power_scale":         {`"speed"`, "z_rate_mm_min = 150"},
	"power_least_pct":     {"45", "z_rate_mm_min = 150"},
	"rapids_fire":         {"true"},
	"head_radius_mm":      {"8", "gap_min_mm = 1"},
	"head_mm":             {"[[4, 0], [30, 15]]", "gap_min_mm = 1"},
	"gap_min_mm":          {"1.5", "head_radius_mm = 8"},
	"gauge_foot_mm":       {"30"},
	"probe_feed_mm_min":   {"90"},
	"probe_depth_mm":      {"4"},
	"focus_height_mm":     {"4"},
	"depth_mm":            {"[-1.4, 1.6]"},
	"waist_um":            {"150"},
	"smallest_detail_mm":  {"0.7"},
	"focus_shift_mm":      {"0.5"},
	"m2":                  {"1.3", "waist_um = 90", "wavelength_nm = 10600"},
	"wavelength_nm":       {"10600", "waist_um = 90", "m2 = 1.3"},
	"rayleigh_mm":         {"4.6", "waist_um = 90"},
	"tested_on":           {`"birch"`, "usual_defocus_mm = 0.1"},
}

// fieldsWithout are fields that the record must not have beside one.
var fieldsWithout = map[string]string{"m2": "depth_mm", "wavelength_nm": "depth_mm", "rayleigh_mm": "depth_mm"}

// fieldsTold are those that only tell of how a lens was tested: they are seen where
// records are shown.
var fieldsTold = []string{"tested_power_pct", "tested_feed_mm_min"}

// Each field of a record or a profile that is set is seen in what some run writes or says;
// one that nothing asks for does not exist.
func TestEveryFieldCounts(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "job.gcode", fieldsProgram)
	write(t, "bow.csv", "# error_mm: 0\ny\\x, 0, 50, 100\n0, 0, 1, 0\n50, 0, 1, 0\n100, 0, 1, 0\n")
	write(t, "high.csv", "# error_mm: 0\ny\\x, 0, 50, 100\n0, 0, 8, 0\n50, 0, 8, 0\n100, 0, 8, 0\n")
	write(t, "long.toml", "depth_mm = [-4.5, 4.5]\nsmallest_detail_mm = 0.8\nstandoff_mm = 9\n")
	known := map[string]string{} // outcomes, by runs and records
	lens := []string{"standoff_mm = 6", "smallest_detail_mm = 0.3", "depth_mm = [-1.5, 1.5]"}
	machine := []string{"comments = true"}
	for _, file := range []struct {
		name   string
		fields []record.Field
		lines  *[]string
	}{{"lens.toml", record.Fields(&record.Lens{}), &lens}, {"bench.toml", record.Fields(record.DefaultMachine()), &machine}} {
		for _, f := range file.fields {
			t.Run(f.Name, func(t *testing.T) {
				value, more := f.Example, []string(nil)
				if set := fieldsSet[f.Name]; set != nil {
					value, more = set[0], set[1:]
				}
				runs := fieldsRuns
				if slices.Contains(fieldsTold, f.Name) {
					runs = []string{"lens show lens.toml"}
				}
				outcome := func(run, line string) string { // with the record without or with the field
					kept := slices.DeleteFunc(slices.Concat(*file.lines, more), func(l string) bool {
						return strings.HasPrefix(l, f.Name+" ") || strings.HasPrefix(l, fieldsWithout[f.Name]+" ")
					})
					write(t, file.name, strings.Join(append(kept, line), "\n")+"\n")
					key := fmt.Sprint(run, file.name, kept, line)
					if known[key] == "" {
						known[key] = fieldsOutcome(t, run)
					}
					return known[key]
				}
				write(t, "lens.toml", strings.Join(lens, "\n")+"\n")
				write(t, "bench.toml", strings.Join(machine, "\n")+"\n")
				for _, run := range runs {
					before := outcome(run, "")
					if plain := more == nil && fieldsWithout[f.Name] == "" && !strings.HasPrefix(run, "ladder") && !strings.Contains(run, "--rehearsal"); plain && !strings.Contains(before, "\nstatus 0\n") {
						t.Fatalf("%s: %s", run, before)
					}
					if after := outcome(run, f.Name+" = "+value); after != before {
						if testing.Verbose() {
							t.Logf("%s\n%s", run, fieldsChange(before, after))
						}
						return
					}
				}
				t.Errorf("%s = %s changes nothing of what any run writes or says", f.Name, value)
			})
		}
	}
}

// fieldsList is the list of a set, which repeats the records: it does not count.
const fieldsList = "set.json"

// fieldsDigest is what follows from bytes, whatever they are.
var fieldsDigest = regexp.MustCompile(`sha256:[0-9a-f]+`)

// fieldsOutcome is what a run says and writes.
func fieldsOutcome(t *testing.T, args string) string {
	t.Helper()
	inputs := []string{"job.gcode", "bow.csv", "high.csv", "lens.toml", "long.toml", "bench.toml"}
	var out bytes.Buffer
	status := Main(strings.Fields(args), strings.NewReader(""), &out, &out)
	fmt.Fprintf(&out, "status %d\n", status)
	if bytes.Contains(out.Bytes(), []byte("no such field")) || status == 4 {
		t.Fatalf("%s\n%s", args, &out)
	}
	err := filepath.WalkDir(".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || slices.Contains(inputs, path) {
			return err
		}
		text, err := os.ReadFile(path)
		if e.Name() != fieldsList {
			fmt.Fprintf(&out, "%s\n%s", path, text)
		}
		if err == nil {
			err = os.Remove(path)
		}
		return err
	})
	if err == nil {
		err = os.RemoveAll("zones")
	}
	if err != nil {
		t.Fatal(err)
	}
	return fieldsDigest.ReplaceAllString(out.String(), "")
}

// fieldsChange is the first line that differs.
func fieldsChange(before, after string) string {
	a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
	for k := range min(len(a), len(b)) {
		if a[k] != b[k] {
			return a[k] + "\n" + b[k]
		}
	}
	return fmt.Sprintf("%d lines, %d", len(a), len(b))
}
