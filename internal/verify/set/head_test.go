package set

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
)

// The head must be clear in every zone at that zone's setting: on travels, on
// burns, on the way from where the focus was set, and while it is raised by
// hand, as far as that is known. A box stands from X70 to X80, 5 mm high; the tip
// is 6 mm over best focus and keeps 1.5 mm, 4 mm about the beam.
func TestSetKeepsTheHeadClear(t *testing.T) {
	const open = "G21 G90\nM5\n"
	low, high := open+"G0 X0 Y0\nM4 S500\nG1 X50 F1000\nM5\nG0 X0 Y0\nM2\n", open+"G0 X60 Y0\nM4 S500\nG1 X100 F1000\nM5\nG0 X0 Y0\nM2\n"
	original := open + "G0 X0 Y0\nM4 S500\nG1 X50 F1000\nM5\nG0 X60 Y0\nM4\nG1 X100\nM5\nG0 X0 Y0\nM2\n"
	const list = `{"schema": 1, "zones": [{"program": "low", "lens": "a", "focus_mm": 0.3, "focus_point_mm": [30, 30]},
		{"program": "high", "lens": "a", "focus_mm": 0.75, "focus_point_mm": [50, 30], "focus_point_height_mm": 0.5, "raised_lines": [[3, 5]], "raised_mm": [0.6]}]}`
	in := func(s, old, new string) string { return cut(t, s, old, new) }
	by := func(mm float64) func(*verify.Options) {
		return func(o *verify.Options) {
			o.Head = &bench.Head{Radius: 4, Standoff: 6, Gap: 1.5, Boxes: []surface.Box{{X0: 70, Y0: 20, X1: 80, Y1: 90, Height: 5 + mm}}}
		}
	}
	hand := func(o *verify.Options) { by(0)(o); o.ZMoves = bench.ByHand }
	over := in(high, "G0 X60 Y0\n", "G0 X60 Y50\nG0 X90\nG0 X60 Y0\n")
	waits := in(over, "G0 X60 Y50\nG0 X90\nG0 X60 Y0\n", "G0 X60 Y50 M0\nG0 X90\nG0 X60 Y0 M0\n")
	for _, c := range []struct {
		name            string
		list, low, high string
		original        string
		change          func(*verify.Options)
		want            string
	}{
		{name: "beside it", change: by(0)},
		{name: "a travel over it", high: over, change: by(0.2)},
		{name: "a travel over more", high: over, change: by(0.35), want: "zone 2: line 4: tip of the head too close to what stands about it, by 0.1 mm"},
		{name: "a lower setting", list: in(list, "0.75", "0.6"), high: over, change: by(0.2), want: "zone 2: line 4: tip of the head too close to what stands about it, by 0.1 mm"},
		{name: "a retract", high: in(over, "G0 X90", "G0 X90 Z0.1"), change: by(0.35), want: "zone 2: line 4: tip of the head too close"},
		{name: "a retract before", high: in(over, "G0 X90\nG0 X60 Y0\n", "G0 Z0.1\nG0 X90\nX60 Y0\nG0 Z0\n"), change: by(0.35)},
		{name: "a burn", list: in(list, "0.75", "0.7"), change: func(o *verify.Options) { by(0)(o); o.Head.Boxes[0].Y0, o.Head.Boxes[0].Height = -20, 5.3 },
			want: "zone 2: line 5 (original 9): tip of the head too close to what stands about it, by 0.1 mm"},
		{name: "from the focus point", list: in(list, "[50, 30]", "[90, 30]"), change: by(0.35), want: "zone 2: line 3: tip of the head too close to what stands about it, by 0.1 mm"},
		{name: "deeper from the start", original: in(original, "G0 X0 Y0\n", "G0 X0 Y0\nG0 Z-1\n"), low: in(low, "G0 X0 Y0\n", "G0 X0 Y0\nG0 Z-1\n"),
			high: in(in(over, "G0 X60 Y50\n", "G0 X60 Y50\nG0 Z-1\n"), "G0 X60 Y0\n", "G0 X60 Y0\n"), change: by(0.2)},
		{name: "raised by hand", high: waits, change: func(o *verify.Options) { hand(o); o.Head.Boxes[0].Height = 5.75 }},
		{name: "no wait to raise it", high: in(waits, "Y50 M0", "Y50 M1"), change: hand, want: "zone 2: line 3: the program does not wait (M0)"},
		{name: "no wait to bring it back", high: in(waits, "Y0 M0", "Y0"), change: hand, want: "zone 2: line 5: the program does not wait (M0)"},
		{name: "told to raise it", high: in(waits, "Y50 M0", "Y50 M0 (raise the lens by 0.60 mm or more)"), change: hand},
		{name: "told to raise it less", high: in(waits, "Y50 M0", "Y50 M0 (raise the lens by 0.59 mm or more)"), change: hand,
			want: "zone 2: line 3: the operator is told otherwise than in the list: to raise the lens by 0.59 mm, and it is 0.6 mm at least"},
		{name: "a wait before a burn", high: in(waits, "M4 S500", "(raise the lens by 9 mm)\nM0\nM4 S500"), change: hand,
			want: "zone 2: line 7: word differs from the original: M0 is not in the original here, nor does the list have the program wait there"},
		{name: "the original's wait", high: in(waits, "M4 S500", "M0\nM4 S500"), original: in(original, "M4\n", "M0\nM4\n"), change: hand,
			want: "set: original line 8: word differs from the original: M0 stands between burns"},
		{name: "raised too little", list: in(list, "[0.6]", "[0.4]"), high: waits, change: func(o *verify.Options) { hand(o); o.Head.Boxes[0].Height = 5.75 },
			want: "zone 2: line 4: tip of the head too close to what stands about it, by 0.1 mm"},
		{name: "raised unknown", list: in(list, `, "raised_mm": [0.6]`, ""), high: waits, change: func(o *verify.Options) { hand(o); o.Head.Boxes[0].Height = 9 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			res := bent{cmp.Or(c.list, list), cmp.Or(c.low, low), cmp.Or(c.high, high), cmp.Or(c.original, original), c.change}.says(t, c.want)
			if unknown := c.name == "raised unknown"; unknown != strings.Contains(strings.Join(res.Zones[1].Notes, "\n"), "raised by hand: 2; whether they are clear was not checked") {
				t.Errorf("notes %q", res.Zones[1].Notes)
			}
			if strings.Contains(strings.Join(res.Whole.Notes, "\n"), "head") {
				t.Errorf("notes %q", res.Whole.Notes)
			}
		})
	}
	res := bent{list: list, low: low, high: high, original: original}.says(t, "")
	if !strings.Contains(strings.Join(res.Whole.Notes, "\n"), "head clearance not checked") || res.Unchecked() != 0 {
		t.Errorf("%d travels not checked, notes %q", res.Unchecked(), res.Whole.Notes)
	}
}

// The tip of each zone's head stands as high as that zone's setting and lens have it,
// however the focus is set: what clears a box by a hundredth holds, and what is a
// twentieth too close is refused by that.
func TestHeadOfEachZone(t *testing.T) {
	const gap, low, high = 1.5, 0.3, 0.75
	standoff := map[string]float64{"long": 27, "short": 2}
	for _, first := range []float64{0, -3, 4} { // where the original's first burn stands
		for _, sigma := range []float64{1, -1} {
			for _, how := range []string{"bench", "retract", "set z", "paused", "by hand"} {
				for _, lens := range []string{"long", "short"} {
					z := func(v float64) string { return fmt.Sprintf("G0 Z%g\n", sigma*v) }
					set, lift, raised := high, 0.0, 0.0
					programZ := func(focus float64) float64 { return first }
					switch how {
					case "retract":
						lift = 2
					case "set z":
						programZ = func(focus float64) float64 { return first + focus }
					case "by hand":
						raised = 0.6
					}
					wait := map[bool]string{true: "M0\n"}[how == "by hand"]
					job := func(focus float64, burns string) string {
						return z(programZ(focus)) + burns
					}
					over := wait + "G0 Y50\n" + z(programZ(high)+lift) + "G0 X90\nG0 X60\n" + z(programZ(high)) + wait + "G0 Y0\n"
					one, two := "G0 X0 Y0\nM4 S500\nG1 X50 F1000\nM5\n", "G0 X60 Y0\n"+over+"M4 S500\nG1 X100 F1000\nM5\n"
					const open, end = "G21 G90\nM5\n", "G0 X0 Y0\nM2\n"
					original := open + z(first) + one + "G0 X60 Y0\nM4 S500\nG1 X100 F1000\nM5\n" + end
					programs := map[string]string{"low": open + job(low, one) + end, "high": open + job(high, two) + end}
					zone := func(program, lens string, focus float64, more string) string {
						return fmt.Sprintf(`{"program": %q, "lens": %q, "focus_mm": %g, "focus_point_mm": [60, 0], "focus_point_height_mm": 0.6%s}`, program, lens, focus, more)
					}
					zones := zone("low", "long", low, "") + "," + zone("high", lens, set, "")
					switch how {
					case "paused":
						opening := open + "M0\n" + z(programZ(low)) + "G0 X60 Y0\n"
						first := opening + "M0\n" + one + "G0 X60 Y0\n"
						programs = map[string]string{"both": first + "M0\n" + job(high, two) + end}
						stop := strings.Count(first, "\n") + 1
						zones = zone("both", "long", low, fmt.Sprintf(`, "stop_line": 3, "focus_stop_line": %d`, strings.Count(opening, "\n")+1)) + "," +
							zone("both", lens, set, fmt.Sprintf(`, "stop_line": %d, "focus_stop_line": %d`, stop, stop))
					case "by hand":
						before := strings.Count(programs["high"][:strings.Index(programs["high"], "M0")], "\n") + 1
						zones = zone("low", "long", low, "") + "," + zone("high", lens, set,
							fmt.Sprintf(`, "raised_lines": [[%d, %d]], "raised_mm": [0.6]`, before, before+6))
					}
					list := fmt.Sprintf(`{"schema": 1, "set_z": %v, "zones": [%s]}`, how == "set z", zones)
					clear := set + lift + raised + standoff[lens] - gap
					for _, more := range []float64{-0.01, 0.05} {
						opt := verify.Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: sigma > 0, DecimalsMM: 3, DecimalsInch: 5},
							Surface: plane(t, 0.01), Depth: focus.Depth{Near: 0.6, Far: 0.6}}
						if how == "by hand" {
							opt.ZMoves = bench.ByHand
						}
						s, err := Read(strings.NewReader(list), "set.json")
						if err != nil {
							t.Fatal(err)
						}
						res, err := Run(s, func(name string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(programs[name])), nil },
							func(name string) (Lens, error) {
								return Lens{Depth: opt.Depth, Head: &bench.Head{Radius: 4, Gap: gap, Standoff: standoff[name],
									Boxes: []surface.Box{{X0: 70, Y0: 20, X1: 80, Y1: 90, Height: clear + more}}}}, nil
							}, strings.NewReader(original), "job.gcode", opt)
						if err != nil {
							t.Fatal(err)
						}
						want := ""
						if more > 0 {
							want = "tip of the head too close to what stands about it, by 0.05 mm"
						}
						if got := failuresOf(res); (want == "") != res.Holds() || !strings.Contains(got, want) {
							t.Errorf("first burn at %g, sigma %g, %s, lens %s, box %+g: got\n%swant %q\n%s\n%v", first, sigma, how, lens, more, got, want, list, programs)
						}
					}
				}
			}
		}
	}
}
