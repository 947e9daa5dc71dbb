package zone

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// The rule for several lenses. Lenses that are known not to mark the job's
// smallest detail are left out. Each figure (an unbroken run of burns) is
// given the finest lens that is deep enough for all its heights at once, and
// a figure for which none is, the deepest. Programs are ordered by lens, so
// each lens is put on once.

// Finer orders lenses: the smaller detail first where it is known of both,
// else the lesser depth. It is negative where a is the finer.
func Finer(a, b Lens) int {
	if a.DetailMM > 0 && b.DetailMM > 0 && a.DetailMM != b.DetailMM {
		return cmp.Compare(a.DetailMM, b.DetailMM)
	}
	return cmp.Compare(a.Width(), b.Width())
}

// choose gives the lenses that may be used, finest first. The error is an
// *UnmetError where none marks the detail.
func choose(opt *Options) ([]Lens, error) {
	fit, left := []Lens{}, []string{}
	for _, l := range opt.Lenses {
		if opt.DetailMM > 0 && l.DetailMM > opt.DetailMM {
			left = append(left, fmt.Sprintf("%s marks %.3g mm", l.Name, l.DetailMM))
			continue
		}
		fit = append(fit, l)
	}
	if len(fit) == 0 {
		return nil, refused(opt.Name, "no lens marks a detail of %.3g mm: %s", opt.DetailMM, strings.Join(left, ", "))
	}
	slices.SortStableFunc(fit, Finer)
	return fit, nil
}

// snug is the part of a lens's width that a figure must leave to fit it as a
// whole: what the certainty of heights and the rounding of the focus take.
const snug = 0.01

// lensOrder says which lens each figure is given, in their order.
type lensOrder struct {
	runs []lensRun
	// at and given are the run that next is in, and how many of its figures it has
	// given.
	at, given int
}

// lensRun is so many figures in a row that are given a lens.
type lensRun struct{ lens, figures int }

func (t *lensOrder) add(lens int) {
	if n := len(t.runs); n == 0 || t.runs[n-1].lens != lens {
		t.runs = append(t.runs, lensRun{lens: lens})
	}
	t.runs[len(t.runs)-1].figures++
}

// next gives the next figure's. There are more where the program has been changed.
func (t *lensOrder) next() int {
	if t.given == t.runs[t.at].figures && t.at+1 < len(t.runs) {
		t.at, t.given = t.at+1, 0
	}
	t.given++
	return t.runs[t.at].lens
}
