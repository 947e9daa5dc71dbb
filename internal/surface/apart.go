package surface

import (
	"fmt"
	"math"

	"sagitta/internal/phrase"
)

// Area is a rectangle over program XY: its least and its greatest corner, mm.
type Area struct{ Min, Max [2]float64 }

// size is how far it reaches along an axis.
func (a *Area) size(axis int) float64 { return a.Max[axis] - a.Min[axis] }

// scaled is the area with all its numbers so many times as large.
func (a Area) scaled(by float64) Area {
	for k := range a.Min {
		a.Min[k], a.Max[k] = a.Min[k]*by, a.Max[k]*by
	}
	return a
}

// moved is the area somewhere else.
func (a Area) moved(by [2]float64) Area {
	for k := range a.Min {
		a.Min[k], a.Max[k] = a.Min[k]+by[k], a.Max[k]+by[k]
	}
	return a
}

// String says it as people read it.
func (a Area) String() string {
	return fmt.Sprintf("X %s to %s, Y %s to %s", tenths(a.Min[0]), tenths(a.Max[0]), tenths(a.Min[1]), tenths(a.Max[1]))
}

const (
	// edgePart of a size is how far over an edge what is meant to lie on a surface may
	// reach, and leastPart how much of it is burned at the least: nobody measures ten
	// times as far.
	edgePart, leastPart = 0.02, 0.1
	mmPerInch           = 25.4
)

// holds reports whether burns lie on the area, and are of its size.
func (a *Area) holds(burns *Area) bool {
	for k := range a.Min {
		slack := edgePart * burns.size(k)
		if burns.Min[k] < a.Min[k]-slack || burns.Max[k] > a.Max[k]+slack {
			return false
		}
	}
	return max(burns.size(0), burns.size(1)) >= leastPart*min(a.size(0), a.size(1))
}

// meets reports whether areas have places in common.
func (a *Area) meets(b *Area) bool {
	return a.Min[0] < b.Max[0] && b.Min[0] < a.Max[0] && a.Min[1] < b.Max[1] && b.Min[1] < a.Max[1]
}

// Apart says in lines how the burns of a program, in inches or not, lie to a surface that
// does not hold them, and what would bring them together.
func Apart(p *Placed, burns Area, inches bool) []string {
	at := Area{Min: [2]float64{math.Inf(1), math.Inf(1)}, Max: [2]float64{math.Inf(-1), math.Inf(-1)}}
	for _, corner := range p.Bounds() {
		for k, v := range corner {
			at.Min[k], at.Max[k] = min(at.Min[k], v), max(at.Max[k], v)
		}
	}
	lines := []string{fmt.Sprintf("the burns reach over %v, the surface over %v mm", burns, at)}
	say := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	shift := [2]float64{p.shiftX, p.shiftY}
	unshifted := at.moved([2]float64{-shift[0], -shift[1]})
	larger, smaller := unshifted.scaled(mmPerInch).moved(shift), unshifted.scaled(1/mmPerInch).moved(shift)
	other := at.moved([2]float64{-2 * shift[0], -2 * shift[1]})
	inInches, inMM := burns.scaled(mmPerInch), burns.scaled(1/mmPerInch)
	switch {
	case shift != [2]float64{} && other.holds(&burns):
		say("with the shift the other way, --shift %s,%s, the surface would hold them", phrase.Trimmed(-shift[0], 3), phrase.Trimmed(-shift[1], 3))
	case !inches && at.holds(&inInches):
		say(`taken for inches the burns would lie on it: say G20 in the program, or units = "in" in the machine profile`)
	case inches && at.holds(&inMM):
		say("taken for mm the burns would lie on it: is the G20 in the program meant, or the profile's units?")
	case larger.holds(&burns):
		say("taken for inches the surface would hold them: make it with sagitta surface --units in, or let its file say # units: in")
	case smaller.holds(&burns):
		say("taken for mm the surface would hold them: make it with sagitta surface --units mm")
	case burns.size(0) > (1+edgePart)*at.size(0) || burns.size(1) > (1+edgePart)*at.size(1):
		say("the burns reach further than was measured: no shift brings them together; measure the rest (sagitta probe says where), or give --outside hold for the height of the edge")
	default:
		var from, to [2]float64
		for k := range from {
			from[k], to[k] = shift[k]+burns.Max[k]-at.Max[k], shift[k]+burns.Min[k]-at.Min[k]
			if from[k] > to[k] { // by no more than the edge
				from[k] = (from[k] + to[k]) / 2
				to[k] = from[k]
			}
		}
		rest := ""
		if at.meets(&burns) {
			rest = "; if it lies as it should, measure the rest (sagitta probe says where), or give --outside hold for the height of the edge"
		}
		say("a --shift of %s in X and %s in Y would lay it under them: if it was measured from another zero, as in machine coordinates, give as --shift where that zero is in the program%s", between(from[0], to[0]), between(from[1], to[1]), rest)
	}
	return lines
}

// between says a range.
func between(from, to float64) string {
	if to-from < 0.05 {
		return tenths(from)
	}
	return tenths(from) + " to " + tenths(to)
}

func tenths(mm float64) string { return phrase.Trimmed(mm, 1) }
