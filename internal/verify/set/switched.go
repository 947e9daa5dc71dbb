package set

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/verify"
)

// switched is a word of the original behind one of its burns, and whether the last
// program has it there.
type switched struct {
	s   verify.Step
	has bool
}

// setsLine is M110, which sets the line number and switches nothing.
const setsLine = 110

// switches reports whether a word of the original switches what programs run in: a
// tool, a setting, an M word that is not known and not said to be harmless.
func (w *pairing) switches(o *verify.Step) bool {
	return o.Kind == verify.Word && !o.Stops && !o.OfBeam && !o.OfAir &&
		(o.Said != "" || o.Word != setsLine && !slices.Contains(w.opt.Harmless, int(o.Word)))
}

// meet finds a step of the original that is no motion, or has the beam on without
// burning, in what the zones owe. What switches before the first burn must stand
// before the first of each program.
func (w *pairing) meet(o *verify.Step) {
	last := len(w.zones) - 1
	has := false
	for _, r := range w.zones {
		met := r.met
		r.meet(o)
		has = r.met > met
		if !has && r.from == 0 && w.res.Burns == 0 && w.switches(o) {
			r.Res.Fail(w.lacks(o, "before its first burn"))
		}
	}
	if w.res.Burns > 0 && (w.switches(o) || w.zones[last].several && o.Kind == verify.Word && o.Stops) && len(w.switched) < mostOwed {
		w.switched = append(w.switched, switched{*o, has})
	}
}

// lacks is that a word of the original is missing.
func (w *pairing) lacks(o *verify.Step, where string) verify.Violation {
	return verify.Violation{Kind: verify.Missing, OriginalLine: o.Line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
		Detail: fmt.Sprintf("%s of the original is not %s", o, where)}
}

// between takes the words since the last burn, as another burn comes: where the job
// goes to several programs, none can be told to be in the right ones.
func (w *pairing) between() {
	last := w.zones[len(w.zones)-1]
	for i := range w.switched {
		switch o := &w.switched[i]; {
		case last.several:
			f := w.lacks(&o.s, "")
			f.Kind = verify.WordDiffers
			f.Detail = fmt.Sprintf("%s stands between burns of the original, and cannot be told to be in force where it is wanted in several zones", &o.s)
			w.res.Whole.Fail(f)
		case !o.has:
			last.Res.Fail(w.lacks(&o.s, "between the same burns"))
		}
	}
	w.switched = w.switched[:0]
}

// behind takes the words behind the last burn, which the last program must have.
func (w *pairing) behind() {
	for i := range w.switched {
		if o := &w.switched[i]; !o.has && !o.s.Stops {
			w.zones[len(w.zones)-1].Res.Fail(w.lacks(&o.s, "behind its last burn"))
		}
	}
}
