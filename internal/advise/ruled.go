package advise

import (
	"fmt"
	"math"

	"sagitta/internal/focus"
)

// served is what one focus is to serve: the heights that burns of each kind see, moved by
// their wanted defocus, and their depths.
type served struct {
	kinds []focus.Served
	// least and most are the lowest and the highest focus that is good for all: where least
	// is above most there is none.
	least, most float64
}

// serves is what one focus of the lens is to serve.
func (l *Optic) serves(j *Metrics) served {
	s := served{least: math.Inf(-1), most: math.Inf(1)}
	for k := range j.ruled {
		seen := &j.ruled[k]
		if !seen.any() {
			continue
		}
		a := l.asks(k)
		x := focus.Served{Low: seen.low + a.Defocus, High: seen.high + a.Defocus, Depth: a.Depth}
		s.kinds = append(s.kinds, x)
		s.least, s.most = max(s.least, x.High-x.Near), min(s.most, x.Low+x.Far)
	}
	return s
}

// asks is what burns of a rule, 0 for none, ask for at a focus that is set once.
func (l *Optic) asks(rule int) focus.Aim {
	if rule == 0 || len(l.Ruled) == 0 {
		return focus.Aim{Depth: l.Checking, Defocus: l.Defocus}
	}
	return l.Ruled[rule-1]
}

// lead is how far over a height travels stay by the depth alone.
func (l *Optic) lead() float64 {
	a := focus.Lowest(l.asks(0), l.Ruled)
	return a.Defocus - a.Near
}

// part is the greatest part of a depth that a focus spends, and best the focus that spends least.
func (s *served) part(at float64) float64 { return focus.PartAt(s.kinds, at) }

func (s *served) best() float64 { return focus.Best(s.kinds) }

// flatWidth is within how many mm the heights under all burns must lie for one focus of the
// lens to serve them, wherever they are burned.
func (l *Optic) flatWidth(j *Metrics) float64 {
	nearest, furthest := math.Inf(1), math.Inf(1)
	for k := range j.ruled {
		if !j.ruled[k].any() {
			continue
		}
		a := l.asks(k)
		by := a.Defocus - l.Defocus
		nearest, furthest = min(nearest, a.Near-by), min(furthest, a.Far+by)
	}
	return nearest + furthest - 2*j.less
}

// ruled reports whether rules ask for more than the job does of the focus of burns.
func (l *Optic) ruled() bool { return len(l.Kinds) > 0 }

// servesAll says that one focus of a lens serves what burns see.
func (x *Answer) servesAll() string {
	if x.ruled() {
		return fmt.Sprintf("one focus of lens %s serves them all, each by its rule", x.Name)
	}
	return fmt.Sprintf("lens %s serves %.3g mm at one focus", x.Name, x.Checking.Near+x.Checking.Far)
}

// servesNot says that it does not, and by how much.
func (x *Answer) servesNot() string {
	if x.ruled() {
		return fmt.Sprintf("and %.2g mm are missing for one focus of lens %s to serve them all, each by its rule", x.Flat.Over, x.Name)
	}
	return fmt.Sprintf("%.2g mm more than lens %s serves at one focus", x.Flat.Over, x.Name)
}
