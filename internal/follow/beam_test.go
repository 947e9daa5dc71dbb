package follow_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/rewrite"
)

// A followed program travels, waits and ends with the beam on only where its original
// does, all of which is named; a rehearsal never does, and puts the beam off before
// anything moves.
func TestFollowingKeepsTheBeamOff(t *testing.T) {
	none := regexp.MustCompile(`^\x00$`) // following puts in no waits
	lit := 0
	rapid.Check(t, func(rt *rapid.T) {
		job := drawn.Draw(rt, drawn.Options{Side: size, Without: []drawn.Construct{drawn.Numbers, drawn.Sums}})
		opt := follow.Options{Options: rewrite.Options{Name: "drawn", Bench: bench.Bench{Machine: job.Config(), ZPlusAway: true,
			ZMoves: pick(rt, "zmoves", bench.Always, bench.BeamOff), ZRate: pick(rt, "rate", 0.0, 5), DecimalsMM: 3, DecimalsInch: 5},
			Comments: true, Marker: "sagitta 0 follow", Rehearsal: pick(rt, "rehearsal", false, false, true)},
			Surface: drawSurface(rt, size), Depth: focus.Depth{Near: 2, Far: 2}, Use: 0.5, Defocus: pick(rt, "defocus", 0.0, -0.4, 1), Head: drawHead(rt, size)}
		opt.Machine.RapidsFire = pick(rt, "rapids", false, false, true)
		opt.Machine.RapidsStraight = opt.Machine.RapidsFire || pick(rt, "straight", true, false)
		text := job.Text
		if rapid.Bool().Draw(rt, "lit") {
			text = drawn.LeaveLit(rt, text, opt.Machine)
		}
		original, err := drawn.Events(text, opt.Machine)
		if err != nil {
			rt.Skip(err)
		}
		var out bytes.Buffer
		sum, err := follow.Run(strings.NewReader(text), &out, opt)
		if err != nil {
			rt.Skip(err)
		}
		list, err := drawn.Events(out.String(), opt.Machine)
		if err != nil {
			rt.Fatal(err)
		}
		wrong := drawn.Excess(list, original, none)
		for _, e := range list {
			if opt.Rehearsal && (e.Lit || !e.Off) {
				wrong = "a rehearsal has not put the beam off"
			}
		}
		if wrong != "" {
			rt.Fatalf("%s\n%s\nof\n%s", wrong, out.String(), text)
		}
		var counts, first [4]int
		for _, e := range original {
			if e.Lit {
				if counts[e.Kind]++; counts[e.Kind] == 1 {
					first[e.Kind] = e.Line
				}
				lit++
			}
		}
		for kind, said := range map[drawn.EventKind][2]int{
			drawn.Travel: {sum.Lit.Travels.Count, sum.Lit.Travels.Line}, drawn.Wait: {sum.Lit.Waits.Count, sum.Lit.Waits.Line},
			drawn.OpenEnd: {sum.Lit.Ends.Count, sum.Lit.Ends.Line},
		} {
			if counts[kind] != said[0] || first[kind] != said[1] && kind != drawn.OpenEnd {
				rt.Fatalf("%d of kind %d with the beam on, the first on line %d, are told as %v in\n%s", counts[kind], kind, first[kind], said, text)
			}
		}
	})
	if lit == 0 {
		t.Error("nothing is lit")
	}
}
