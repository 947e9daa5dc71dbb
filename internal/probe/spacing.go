package probe

import (
	"fmt"
	"math"

	"sagitta/internal/diag"
	"sagitta/internal/fit"
	"sagitta/internal/touch"
)

// DepthPart is the part of the depth that interpolating between touches may
// take: an error that adds in squares to others then hardly shows.
const DepthPart = 0.1

// Spacing returns the spacing in mm of touches at which bilinear
// interpolation of a sheet that bows by bow mm over length mm, along both
// axes at once, is off by no more than DepthPart of the nearer side of the
// depth.
//
// A bow b over a length L is a second derivative of 8b/L² (a parabola through
// ends and middle). Linear interpolation over a step g is off by at most
// g²/8 times the second derivative (C. de Boor, A Practical Guide to Splines,
// chapter III); bilinear by the sum for both axes, 2b(g/L)².
func Spacing(depth, bow, length float64) float64 {
	return length * math.Sqrt(DepthPart*depth/(2*bow))
}

// FromCoarse returns the spacing that follows from a first coarse probing at
// the given spacing whose bilinear error is rms: that falls with the square
// of the spacing, and its largest value is taken as twice its root mean
// square.
func FromCoarse(depth, spacing, rms float64) float64 {
	return spacing * math.Sqrt(DepthPart*depth/(2*rms))
}

// Step is how far touches may be apart, in mm, and from what that follows.
type Step struct {
	MM  float64
	Why string
}

// AssumedBow is how far a poor sheet bows, as a part of its length.
const AssumedBow = 0.01

// BowStep is the step for a bow in mm over the longer side of the area; 0
// stands for one that is not known.
func (a *Area) BowStep(depth, bow, margin float64) Step {
	length := math.Max(a.Bound.Max[0]-a.Bound.Min[0], a.Bound.Max[1]-a.Bound.Min[1]) + 2*margin
	if bow == 0 {
		bow = AssumedBow * length
		return Step{Spacing(depth, bow, length), fmt.Sprintf("a bow of %.3f mm over %.1f mm, assumed: give --bow", bow, length)}
	}
	return Step{Spacing(depth, bow, length), fmt.Sprintf("a bow of %g mm over %.1f mm", bow, length)}
}

// CoarseStep is the step that follows from a first coarse probing, read from
// the file name. The error is a *diag.Error.
func CoarseStep(depth float64, r *touch.Reading, name string) (Step, error) {
	refuse := func(what string) (Step, error) {
		return Step{}, &diag.Error{Kind: diag.Malformed, Place: diag.Place{File: name, Line: 1, Col: 1}, What: what + "; give --bow"}
	}
	grid := fit.GridOf(r.Points, touch.SamePlaceMM)
	if grid == nil {
		return refuse("a coarse probing must be on a grid for its error to tell the spacing")
	}
	c, err := fit.Choose(r.Points, grid, "bilinear", 0, 0, r.ResolutionMM)
	if err != nil || !c.ErrorKnown {
		return refuse("the coarse probing has too few places to know its error")
	}
	between := func(v []float64) float64 { return (v[len(v)-1] - v[0]) / float64(len(v)-1) }
	g := math.Sqrt(between(grid.X()) * between(grid.Y()))
	return Step{FromCoarse(depth, g, c.ErrorMM), fmt.Sprintf("%s is read between its places, %.1f mm apart, to %.3f mm", name, g, c.ErrorMM)}, nil
}
