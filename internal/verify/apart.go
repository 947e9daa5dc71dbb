package verify

import (
	"fmt"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// fewOff burns off the surface are told one by one.
const fewOff = 3

// over is what burns go over, and how many of them leave the surface.
type over struct {
	area   surface.Area
	off    int
	inches bool
}

func newOver() over {
	inf := math.Inf(1)
	return over{area: surface.Area{Min: [2]float64{inf, inf}, Max: [2]float64{-inf, -inf}}}
}

// take takes a burn.
func (v *over) take(m *machine.Move, inches bool) {
	v.inches = inches
	extend := func(s float64) {
		for k, mm := range m.XY(s) {
			v.area.Min[k], v.area.Max[k] = min(v.area.Min[k], mm), max(v.area.Max[k], mm)
		}
	}
	extend(0)
	for s := range m.Furthest() {
		extend(s)
	}
}

// tell tells of many burns off the surface, or of all that there are, how they lie to it
// in the place of most of them.
func (v *over) tell(r *Result, on *surface.Placed) {
	n := v.off
	if n == 0 || n <= fewOff && n < r.Burns {
		return
	}
	r.Hints = append(r.Hints, surface.Apart(on, v.area, v.inches)...)
	var kept []Violation
	first := -1
	for _, f := range r.Failures {
		if f.Kind == OffSurface {
			if first >= 0 {
				continue
			}
			first = len(kept)
		}
		kept = append(kept, f)
	}
	if n > 1 && first >= 0 {
		kept[first].Detail = fmt.Sprintf("the first of %d", n)
		r.Failures, r.Like = kept, n-1
	}
}
