package job

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/diag"

	"pgregory.net/rapid"
)

// keptIn keeps what a job is run with in a folder, with a list of one zone.
func keptIn(t testing.TB, j *Job) string {
	t.Helper()
	dir := t.TempDir()
	made, err := j.Keep(dir, j.Options)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(made)
	if err != nil {
		t.Fatal(err)
	}
	list := strings.TrimSuffix(string(text), "}") + `, "schema": 1, "original": "job.gcode", "zones": [{"program": "a", "focus_mm": 0, "focus_point_mm": [0, 0]}]}`
	if err := os.WriteFile(filepath.Join(dir, ListFile), []byte(list), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func onDisk(name string) (io.ReadCloser, error) { return os.Open(name) }

// recalled makes the job anew of what a folder holds.
func recalled(t testing.TB, dir string) *Job {
	t.Helper()
	f, err := ReadFolder(onDisk, dir)
	if err != nil {
		t.Fatal(err)
	}
	o := Defaults()
	if _, err := f.Recall(onDisk, &o, o.Given); err != nil {
		t.Fatal(err)
	}
	j, err := New(f.Open(onDisk), &o, AllLenses)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// What a folder holds judges as what it was made with: the same heights, bit for bit,
// the same depth, bench, boxes and options.
func TestFolderRecalls(t *testing.T) {
	surfaces := map[string]string{
		"mm":     "# error_mm: 0\ny\\x, 0, 50, 100\n0, 0, 0.1, 0.3\n33.3333333333, 1, 1.7, 1e-7\n100, 1, nan, 1.1\n",
		"in":     "# units: in\n# heights: down\n# error_mm: 0.01\n# datum: 1.0123456789,1\ny\\x, 0, 1, 3\n0, 0, 0.01, 0.03\n3, 0.01, 0.017, 0.033\n",
		"round":  "# error_mm: 0\n# wraps_y_mm: 100\n# shift_mm: 3.123456789,4\n# rotate_deg: 30\ny\\x, 0, 50, 100\n0, 0, 0.1, 0.3\n25, 1, 1.7, 0.1\n50, 1, 1.7, 0.1\n75, 0, 0, 1\n",
		"coarse": "# noise_mm: 0.02\ny\\x, 0, 20, 60, 100\n0, 0.1, 0.2, 0.3, 0.1\n30, 0, 0.4, 0.5, 0.1\n60, 0.2, 0.3, 0.5, 0\n100, 0, 0, 0.1, 0\n",
		"points": "0 0 1\n100 0 1.1\n0 100 1.3\n100 100 1.4\n50 50 1.2\n20 70 1.23\n",
	}
	rapid.Check(t, func(rt *rapid.T) {
		pick := func(label string, from ...string) string { return rapid.SampledFrom(from).Draw(rt, label) }
		b := folder{"clamp.csv": "# units: in\n0,0,1,1,5\n", "machine.toml": "z_rate_mm_min = 600\nhead_radius_mm = 4\ngap_min_mm = 1\nz_moves = \"beam-off\"\n",
			"lens.toml": "depth_mm = [-1.1, 1.3]\nstandoff_mm = 6\nusual_defocus_mm = 0.1\ndepth_error_mm = 0.01\n", "s.csv": surfaces[pick("surface", "mm", "in", "round", "coarse", "points")]}
		o := Defaults()
		given := map[string]bool{}
		o.Given = func(name string) bool { return given[name] }
		o.Surface = "s.csv"
		for _, name := range []string{"shift", "rotate", "datum", "method", "use", "defocus", "outside", "slow", "z-rate", "rapid", "start", "keep-out", "machine", "surface-error"} {
			given[name] = rapid.Bool().Draw(rt, name)
		}
		if given["shift"] {
			o.Shift = &[2]float64{rapid.Float64Range(-20, 20).Draw(rt, "by"), 1.0 / 3}
		}
		if given["rotate"] {
			o.Rotate = rapid.SampledFrom([]float64{0, 5}).Draw(rt, "degrees")
		}
		if given["datum"] {
			o.Datum = &[2]float64{20, 21}
		}
		if given["method"] = given["method"] || strings.HasPrefix(b["s.csv"], "0 0"); given["method"] {
			o.Method = "bilinear"
			if strings.HasPrefix(b["s.csv"], "0 0") {
				o.Method = "plane"
			}
		}
		if given["use"] {
			o.Use = 1.0 / 3
		}
		if given["defocus"] {
			o.Defocus = rapid.SampledFrom([]float64{0, -0.2}).Draw(rt, "by")
		}
		if given["outside"] {
			o.Outside = "hold"
		}
		if given["slow"] {
			o.Slow = pick("slow", "never", "burns")
		}
		if given["z-rate"] {
			o.ZRate = 123.4
		}
		if given["rapid"] {
			o.Rapid = 4321
		}
		if given["surface-error"] {
			o.SurfaceError = rapid.SampledFrom([]float64{0, 1.0 / 30}).Draw(rt, "sure to")
		}
		if given["start"] {
			o.Start = &[2]float64{0, 7}
		}
		if given["keep-out"] {
			o.KeepOut = "clamp.csv"
		}
		if given["machine"] {
			o.Machine = "machine.toml"
		}
		o.Lenses = []string{"lens.toml"}
		if given["depth"] = rapid.Bool().Draw(rt, "depth"); given["depth"] {
			o.Lenses, o.Depth = nil, "1.5"
		}
		was, err := New(b.open, &o, AllLenses)
		if err != nil {
			rt.Skip(err)
		}
		now := recalled(t, keptIn(t, was))
		used, err := was.used()
		if err != nil || !sameSurface(used, now.laid.surface) {
			rt.Fatalf("%v: another surface", err)
		}
		for x := -10.0; x < 110; x += 7.3 {
			for y := -10.0; y < 110; y += 7.1 {
				h, in := was.Placed.At(x, y)
				g, jn := now.Placed.At(x, y)
				if h != g && (h == h || g == g) || in != jn {
					rt.Fatalf("at %g,%g: %v (%v), not %v (%v)", x, y, g, jn, h, in)
				}
			}
		}
		v, w := was.Verify(), now.Verify()
		if was.Lenses[0].Checking != now.Lenses[0].Checking || v.Depth != w.Depth || v.DefocusMM != w.DefocusMM || v.OutsideHold != w.OutsideHold ||
			!slices.Equal(was.Boxes, now.Boxes) || (v.Head == nil) != (w.Head == nil) || v.ZRate != w.ZRate || v.Slow != w.Slow ||
			v.ZMoves != w.ZMoves || v.Machine.RapidMMMin != w.Machine.RapidMMMin || v.Machine.Start != w.Machine.Start ||
			v.Machine.StartXYKnown != w.Machine.StartXYKnown || was.Use != now.Use {
			rt.Fatalf("\n%+v %+v\n%+v %+v", v, was.Lenses, w, now.Lenses)
		}
	})
}

// A folder whose list says anything is refused, or judged by it, without a panic.
func FuzzFolder(f *testing.F) {
	var notes []string
	o := settings(&notes)
	o.Depth, o.Lenses = "", []string{"short.toml"}
	j, err := New(files.open, o, AllLenses)
	if err != nil {
		f.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(keptIn(f, j), ListFile))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(text))
	f.Add(`{"schema": 1, "options": {"datum": [1]}, "lenses": [null, 3], "machine": [], "zones": [{"program": "a", "focus_mm": 0, "focus_point_mm": [0, 0]}]}`)
	f.Fuzz(func(t *testing.T, list string) {
		open := func(name string) (io.ReadCloser, error) {
			switch filepath.Base(name) {
			case ListFile:
				return io.NopCloser(strings.NewReader(list)), nil
			case surfaceFile:
				return io.NopCloser(strings.NewReader(files["flat.csv"])), nil
			}
			return nil, fs.ErrNotExist
		}
		folder, err := ReadFolder(open, "dir")
		if err != nil {
			return
		}
		o := Defaults()
		if _, err = folder.Recall(open, &o, o.Given); err == nil {
			_, err = New(folder.Open(open), &o, AllLenses)
		}
		if err = folder.Placed(err); err != nil && diag.As(err) == nil && !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%q: %v", list, err)
		}
		if _, err := folder.FindOriginal(open); err == nil {
			t.Errorf("%q: an original is found", list)
		}
	})
}
