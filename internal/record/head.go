package record

import (
	"errors"
	"math"
)

// Steps are what a head is made of, from its tip up: the radius of each step, and how
// high over the tip it begins, in mm. nil is unset.
type Steps [][2]float64

// mostSteps bounds the work that a head can ask for; heads have three or four.
const mostSteps = 20

// UnmarshalTOML reads a list of pairs of numbers.
func (s *Steps) UnmarshalTOML(v any) error {
	wrong := errors.New("wants steps of radius and height in brackets, as in [[4, 0], [30, 15]]")
	list, ok := v.([]any)
	if !ok {
		return wrong
	}
	*s = Steps{}
	for _, e := range list {
		pair, _ := e.([]any)
		if len(pair) != 2 {
			return wrong
		}
		var step [2]float64
		for k, n := range pair {
			switch n := n.(type) {
			case int64:
				step[k] = float64(n)
			case float64:
				step[k] = n
			default:
				return wrong
			}
		}
		*s = append(*s, step)
	}
	return nil
}

// Head are the steps of the head: the one of its tip where no more is known; nil where
// it is not known.
func (m *Machine) Head() Steps {
	if m.HeadRadiusMM != nil {
		return Steps{{*m.HeadRadiusMM, 0}}
	}
	return m.HeadMM
}

// checkHead holds head_mm to what it wants: it begins at the tip, and rises.
func (m *Machine) checkHead() error {
	const field = "head_mm"
	switch n := len(m.HeadMM); {
	case m.HeadMM == nil:
		return nil
	case m.HeadRadiusMM != nil:
		return wrong(field, "stands beside head_radius_mm; give one of them")
	case n == 0:
		return wrong(field, "has no step; wants that of the tip at least, as in [[4, 0]]")
	case n > mostSteps:
		return wrong(field, "has %d steps, more than %d", n, mostSteps)
	case m.HeadMM[0][1] != 0:
		return wrong(field, "wants the tip first, at a height of 0, not %g", m.HeadMM[0][1])
	}
	before := [2]float64{0, -1}
	for k, s := range m.HeadMM {
		switch {
		case !(s[0] >= 0 && s[1] >= 0) || math.IsInf(s[0], 0) || math.IsInf(s[1], 0):
			return wrong(field, "wants finite numbers, zero or more, not [%g, %g]", s[0], s[1])
		case max(s[0], s[1]) > mostNumber:
			return wrong(field, "[%g, %g] is beyond any bench: wants %g at most", s[0], s[1], mostNumber)
		case s[1] <= before[1]:
			return wrong(field, "wants steps from the tip up; [%g, %g] is not higher than the one before", s[0], s[1])
		case k > 0 && s[0] <= before[0]:
			return wrong(field, "wants steps that are wider the higher they are; [%g, %g] is not, and is clear where what is below is: leave it out", s[0], s[1])
		}
		before = s
	}
	return nil
}
