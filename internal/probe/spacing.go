package probe

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/diag"
	"sagitta/internal/fit"
	"sagitta/internal/fit/layout"
	"sagitta/internal/touch"
)

// DepthPart is the part of the depth that interpolating between touches may
// take: an error that adds in squares to others then hardly shows.
const DepthPart = 0.1

// Spacing returns the spacing in mm of touches along a side of length mm at which linear
// interpolation of a sheet that bows by bow mm over that side is off by no more than
// DepthPart of the nearer side of the depth, whatever its form: a cup, an S whose peak
// is bow over its valley, or an edge that curls by bow over its outer third.
//
// Linear interpolation over a step g is off by at most g²/8 times the second derivative
// (C. de Boor, A Practical Guide to Splines, chapter III). With bow b and length L that
// is 8b/L² for a cup (a parabola through ends and middle), 18b/L² for the curl, and for
// the S, one turn of a sine, 2π²b/L². A dome bends along both sides, but by b in
// all; a cup over one side and one over the other make less than the S does.
func Spacing(depth, bow, length float64) float64 {
	return length * math.Sqrt(8*DepthPart*depth/(2*math.Pi*math.Pi*bow))
}

// Pitch is how far touches may be apart along X and along Y, in mm, and from what that
// follows.
type Pitch struct {
	X, Y float64
	Why  string
	// Bow is how far stock is taken to stand over the datum or below it, in mm.
	Bow float64
}

// AssumedBow is how far a poor sheet bows, as a part of its longer side.
const AssumedBow = 0.01

// BowPitch is the pitch for a bow in mm over either side of what is burned with its
// margin, as a sheet may be bent along its short side as much as along its long one; 0
// stands for a bow that is not known.
func BowPitch(burns orb.MultiLineString, depth, bow, margin float64) Pitch {
	b := burns.Bound()
	w, h := b.Max[0]-b.Min[0]+2*margin, b.Max[1]-b.Min[1]+2*margin
	why := "a bow of %g mm over %.1f mm of X or %.1f mm of Y"
	if bow == 0 {
		bow, why = AssumedBow*max(w, h), "a bow of %.3f mm over %.1f mm of X or %.1f mm of Y, assumed: give --bow"
	}
	return Pitch{Spacing(depth, bow, w), Spacing(depth, bow, h), fmt.Sprintf(why, bow, w, h), bow}
}

// CoarsePitch is the pitch that follows from a first coarse probing, read from
// the file name: its error falls with the square of the spacing, as that of a bow
// does, and its largest value is taken as twice its root mean square. The error
// is a *diag.Error.
func CoarsePitch(depth float64, r *touch.Reading, name string) (Pitch, error) {
	refuse := func(what string) (Pitch, error) {
		return Pitch{}, &diag.Error{Kind: diag.Malformed, Place: diag.Place{File: name, Line: 1, Col: 1}, What: what + "; give --bow"}
	}
	grid := layout.GridOf(r.Points, touch.SamePlaceMM)
	if grid == nil {
		return refuse("a coarse probing must be on a grid for its error to tell the spacing")
	}
	c, err := fit.Choose(r.Points, grid, "bilinear", fit.Given{StepMM: r.ResolutionMM})
	if err != nil || !c.ErrorKnown {
		return refuse("the coarse probing has too few places to know its error")
	}
	between := func(v []float64) float64 { return (v[len(v)-1] - v[0]) / float64(len(v)-1) }
	gx, gy := between(grid.X()), between(grid.Y())
	finer := math.Sqrt(DepthPart * depth / (2 * c.ErrorMM))
	low, high := math.Inf(1), math.Inf(-1)
	for _, q := range r.Points {
		low, high = min(low, q.Z), max(high, q.Z)
	}
	why := fmt.Sprintf("%s is read between its places, %.1f x %.1f mm apart, to %.3f mm", name, gx, gy, c.ErrorMM)
	return Pitch{gx * finer, gy * finer, why, high - low}, nil
}
