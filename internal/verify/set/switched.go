package set

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"sagitta/internal/verify"
)

// switched is a word of the original before one of its burns, and whether the program
// has it there.
type switched struct {
	s    verify.Step
	burn int32
	has  bool
}

// setsLine is M110, which sets the line number and switches nothing.
const setsLine = 110

// switches reports whether a word of the original switches what programs run in: a
// tool, a setting, an M word that is not known and not said to be harmless.
func (w *pairing) switches(o *verify.Step) bool {
	return o.Kind == verify.Word && !o.Stops && !o.OfBeam && !o.OfAir &&
		(o.Said != "" || o.Word != setsLine && !slices.Contains(w.opt.Harmless, int(o.Word)))
}

// lacks is that a word of the original is missing.
func lacks(o *verify.Step, where string) verify.Violation {
	return verify.Violation{Kind: verify.Missing, OriginalLine: o.Line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
		Detail: fmt.Sprintf("%s of the original is not %s", o, where)}
}

// before finds in what a zone owes what the original has before its first burn. What
// switches there must stand before the first of each program.
func (w *pairing) before(r *zone) {
	has := make([]bool, len(w.orig.before))
	r.claim(w.orig.before, func(i int) { has[i] = true })
	for i := range has {
		if o := &w.orig.before[i]; !has[i] && r.from == 0 && w.orig.end.burn > 0 && w.switches(o) {
			r.Res.Fail(lacks(o, "before its first burn"))
		}
	}
}

// between finds in what a zone owes the steps between two burns that follow each other
// in the original as well, before burn n.
func (w *pairing) between(r *zone, steps []verify.Step, n int32) {
	words := w.words[sort.Search(len(w.words), func(i int) bool { return w.words[i].burn >= n }):]
	r.claim(steps, func(i int) {
		if !w.switches(&steps[i]) {
			return
		}
		w.has++
		for k := 0; k < len(words) && words[k].burn == n; k++ {
			if words[k].s.Line == steps[i].Line && words[k].s.SameWord(&steps[i]) && !words[k].has {
				words[k].has = true
				return
			}
		}
	})
}

// behind takes what the original has behind its last burn, which a zone may have behind
// its own, and the last program must where it switches.
func (w *pairing) behind(r *zone, last bool) {
	has := make([]bool, len(w.orig.behind))
	r.claim(w.orig.behind, func(i int) { has[i] = true })
	for i := range has {
		if o := &w.orig.behind[i]; last && !has[i] && w.switches(o) && w.orig.end.burn > 0 {
			r.Res.Fail(lacks(o, "behind its last burn"))
		}
	}
}

// kept reports what switches between burns of a job of one program, and does not between
// the same ones there.
func (w *pairing) kept() {
	told := false
	for i := range w.words {
		if s := &w.words[i]; !s.has {
			told = true
			w.res.Zones[0].Fail(lacks(&s.s, "between the same burns"))
		}
	}
	if !told && w.has < w.orig.switches {
		f := lacks(&w.words[len(w.words)-1].s, "")
		f.Detail = fmt.Sprintf("%d words of the original are not between the same burns", w.orig.switches-w.has)
		w.res.Zones[0].Fail(f)
	}
}
