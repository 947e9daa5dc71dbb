package zone_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/zone"
)

// reasons are those of the waits that split puts in.
var reasons = regexp.MustCompile(`raise the (lens|focus)|bring the lens|set the focus|the focus set`)

// mute reports whether an error is that a program without a word and a power for the beam
// would have to wait.
func mute(job *drawn.Program, err error) bool {
	return job.Silent && strings.Contains(err.Error(), "no word that puts it on again")
}

// No program of a set has a travel, a wait or an end with the beam on that the original
// has not, whatever that leaves lit; before waits that are put in, and at the end, the
// word is in force that puts it off. One with stops waits before it moves.
func TestSplitsKeepTheBeamOff(t *testing.T) {
	waits := 0
	rapid.Check(t, func(rt *rapid.T) {
		job, opt := drawJob(rt, drawn.Numbers, drawn.Sums, drawn.Between)
		text := job.Text
		if rapid.Bool().Draw(rt, "lit") {
			text = drawn.LeaveLit(rt, text, opt.Machine)
		}
		opt.Rehearsal = pick(rt, "rehearsal", false, false, true)
		original, err := drawn.Events(text, opt.Machine)
		if err != nil {
			rt.Skip(err)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err == nil {
			err = p.Split(strings.NewReader(text), dir)
		}
		if err != nil {
			rt.Skip(err)
		}
		names, _ := filepath.Glob(filepath.Join(dir, "*.gcode"))
		for _, name := range names {
			body, err := os.ReadFile(name)
			if err != nil {
				rt.Fatal(err)
			}
			list, err := drawn.Events(string(body), opt.Machine)
			if err != nil {
				rt.Fatal(err)
			}
			wrong := drawn.Excess(list, original, reasons)
			last := list[len(list)-1]
			first := list[0]
			for _, e := range list {
				switch {
				case e.Kind == drawn.Wait:
					waits++
				case opt.Rehearsal && (e.Lit || !e.Off):
					wrong = "a rehearsal has not put the beam off"
				}
			}
			switch {
			case wrong != "":
			case last.Kind != drawn.OpenEnd && last.Kind != drawn.Ended:
				wrong = "no end was seen"
			case !last.Off && !last.Burns:
				wrong = "the word that puts the beam off is not in force at the end"
			case opt.Pause && (first.Kind != drawn.Wait || !reasons.MatchString(first.Before)):
				wrong = "does not begin with a wait"
			}
			if wrong != "" {
				rt.Fatalf("%s: %s\n%s\nof\n%s", name, wrong, body, text)
			}
		}
	})
	if waits == 0 {
		t.Error("nothing waits")
	}
}

// A program that says powers and no beam word is put off for a wait by the word, and on
// again by one that does not follow the speed; one that says neither is refused, as is
// one whose bench has only words that follow.
func TestWaitsAreDarkWithoutABeamWord(t *testing.T) {
	for text, wants := range map[string]string{
		"G21 G90\nS0\nG0 X0 Y0\nS500\nG1 X99 F100\nS0\nG0 X0\n": "M3",
		"G21 G90\nG0 X0 Y0\nM4\nG1 X99 F100\nM5\nG0 X0\n":       "M4",
		"G21 G90\nG0 X0 Y0\nG1 X99 F100\nG0 X0\n":               "",
	} {
		opt := slopeOptions(t)
		got, err := splitSlope(t, text, opt)
		switch {
		case wants == "" && (err == nil || !strings.Contains(err.Error(), "no word that puts it on again")):
			t.Errorf("%q: %v\n%s", text, err, got)
		case wants != "" && (err != nil || !strings.Contains(got, wants+"\n") && !strings.Contains(got, " "+wants+"\n") || strings.Count(got, "\nM5\n") < strings.Count(got, "\nM0\n")-1):
			t.Errorf("%q: %v\n%s", text, err, got)
		}
		opt.Machine.PowerFollows = opt.Machine.BeamOn
		if got, err = splitSlope(t, text, opt); (err == nil) != (wants == "M4") {
			t.Errorf("%q where all follow: %v\n%s", text, err, got)
		}
	}
}

// Where a burn's own line ends the program, those of the other zones end by the word.
func TestOtherZonesEndByTheWord(t *testing.T) {
	for text, first := range map[string]string{
		"G21 G90\nS0\nG0 X0 Y0\nS500\nG1 X99 F100 M2\n":     "G1 X99 F100 S500 M2 M3\n",
		"G21 G90\nG0 X0 Y0\nM4 S500\nG1 X99 F100 M2\n":      "G1 X99 F100 S500 M2 M4\n",
		"G21 G90\nG0 X0 Y0\nM4 S500\nG1 X99 F100\nS0\nM2\n": "G1 X99 F100 S500 M4\nS0\nM5\nM2\n",
	} {
		opt := slopeOptions(t)
		opt.Pause = false
		with := 0
		for zone := range 3 {
			got, err := splitZone(t, text, opt, zone)
			if strings.HasSuffix(got, first) {
				with++
			} else if want := "M5\\n(G0 .*\\n)*(S0\\n)?M2\\n$"; err != nil || !regexp.MustCompile(want).MatchString(got) {
				t.Errorf("zone %d of %q: %v, does not end in %q\n%s", zone+1, text, err, want, got)
			}
		}
		if with != 1 {
			t.Errorf("%q: %d of three programs end as its last burn does", text, with)
		}
	}
}

// What the original does with the beam on behind its last burn, the programs of other
// zones, whose way is another, do with it off.
func TestOtherZonesGoHomeDark(t *testing.T) {
	for _, text := range []string{
		"G21 G90\nS0\nG0 X0 Y0\nS500\nG1 X99 F100\nS12\nG0 X0 Y5\n",
		"G21 G90\nM5\nG0 X0 Y0\nM3 S500\nG1 X99 F100\nM5\nM3 S12\nG0 X0 Y5\nM0\nM5\n",
		"G21 G90\nM5\nG0 X0 Y0\nM3 S500\nG1 X99 F100\nG0 X0 Y5 S12\nM2\n",
	} {
		opt := slopeOptions(t)
		opt.Pause = false
		original, err := drawn.Events(text, opt.Machine)
		if err != nil {
			t.Fatal(err)
		}
		for zone := range 3 {
			got, err := splitZone(t, text, opt, zone)
			if err != nil {
				t.Fatal(err)
			}
			list, err := drawn.Events(got, opt.Machine)
			if err != nil {
				t.Fatal(err)
			}
			if wrong := drawn.Excess(list, original, reasons); wrong != "" {
				t.Errorf("zone %d: %s\n%s", zone+1, wrong, got)
			}
			for _, e := range list {
				if e.Lit && zone > 0 {
					t.Errorf("zone %d: lit on line %d\n%s", zone+1, e.Line, got)
				}
			}
		}
	}
}

// slopeOptions want three zones of a program along a slope, with stops.
func slopeOptions(t *testing.T) zone.Options {
	return zone.Options{
		Options: rewrite.Options{Name: "job.gcode", Comments: true, Marker: "sagitta x split y",
			Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}},
		Surface: surfacetest.Of(t, "", []float64{0, 100}, []float64{0, 100}, func(x, _ float64) float64 { return 0.02 * x }),
		Lenses:  []zone.Lens{{Name: "lens", Depth: focus.Depth{Near: 0.4, Far: 0.4}}}, Pause: true,
	}
}

// splitSlope gives the program of the first zone of a job, proved, splitZone that of
// another.
func splitSlope(t *testing.T, text string, opt zone.Options) (string, error) {
	return splitZone(t, text, opt, 0)
}

func splitZone(t *testing.T, text string, opt zone.Options, of int) (string, error) {
	dir := folder(t)
	p, err := zone.Survey(strings.NewReader(text), opt)
	if err == nil {
		err = p.Split(strings.NewReader(text), dir)
	}
	if err != nil {
		return "", err
	}
	res := proveSet(t, dir, text, opt)
	if !res.Holds() {
		t.Errorf("%s", complaints(res))
	}
	body, err := os.ReadFile(filepath.Join(dir, p.Zones[of].Program))
	return string(body), err
}
