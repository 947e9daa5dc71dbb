package probe

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

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

// Pitch is how far touches may be apart, in mm, and from what that follows.
type Pitch struct {
	MM  float64
	Why string
}

// AssumedBow is how far a poor sheet bows, as a part of its length.
const AssumedBow = 0.01

// BowPitch is the pitch for a bow in mm over the longer side of what is burned
// with its margin; 0 stands for one that is not known.
func BowPitch(burns orb.MultiLineString, depth, bow, margin float64) Pitch {
	b := burns.Bound()
	length := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) + 2*margin
	why := "a bow of %g mm over %.1f mm"
	if bow == 0 {
		bow, why = AssumedBow*length, "a bow of %.3f mm over %.1f mm, assumed: give --bow"
	}
	return Pitch{Spacing(depth, bow, length), fmt.Sprintf(why, bow, length)}
}

// CoarsePitch is the pitch that follows from a first coarse probing, read from
// the file name: its error falls with the square of the spacing, as that of a bow
// does, and its largest value is taken as twice its root mean square. The error
// is a *diag.Error.
func CoarsePitch(depth float64, r *touch.Reading, name string) (Pitch, error) {
	refuse := func(what string) (Pitch, error) {
		return Pitch{}, &diag.Error{Kind: diag.Malformed, Place: diag.Place{File: name, Line: 1, Col: 1}, What: what + "; give --bow"}
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
	return Pitch{Spacing(depth, c.ErrorMM, g), fmt.Sprintf("%s is read between its places, %.1f mm apart, to %.3f mm", name, g, c.ErrorMM)}, nil
}
