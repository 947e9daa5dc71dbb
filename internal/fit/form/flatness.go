package form

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// Texture holds height parameters of ISO 25178-2: arithmetic mean, root mean
// square, and greatest range, of heights about their mean.
type Texture struct{ Sa, Sq, Sz float64 }

// TextureOf works them out.
func TextureOf(z []float64) Texture {
	mean, sq := stat.PopMeanStdDev(z, nil)
	t := Texture{Sq: sq, Sz: slices.Max(z) - slices.Min(z)}
	for _, v := range z {
		t.Sa += math.Abs(v-mean) / float64(len(z))
	}
	return t
}

// Flatness says how a sheet leaves the flat, from a quadric through its
// points over the rectangle around them.
type Flatness struct {
	// BowX and BowY are how far the middle stands over the line between the
	// two sides, mm.
	BowX, BowY float64
	// Twist is how far a corner stands off the plane of the other three.
	Twist float64
	// SlopeX and SlopeY are the mean slopes.
	SlopeX, SlopeY float64
	Texture        // about the mean plane
	Settled        bool
}

// enough points tell how a sheet leaves the flat: more make its bow no better known than
// their own systematic errors.
const enough = 20000

// FlatnessOf works it out. Settled is false where the points settle no
// quadric.
func FlatnessOf(points []surface.Point) Flatness {
	few := layout.Thin(points, enough)
	f := newFrame(few)
	q, terms, err := f.quadric()
	var o Flatness
	if err != nil {
		return o
	}
	lo, hi := layout.Box(points)
	// The quadric's terms about the middle of the rectangle.
	a, b := (hi[0]-lo[0])/2/f.unit, (hi[1]-lo[1])/2/f.unit
	if terms == 6 {
		o.BowX, o.BowY, o.Twist = -q[3]*a*a*f.unit, -q[5]*b*b*f.unit, 4*q[4]*a*b*f.unit
		o.Settled = true
	}
	p, err := Fit("plane", few)
	if err != nil {
		return o
	}
	o.SlopeX, o.SlopeY = p.p[1], p.p[2]
	o.Texture = TextureOf(p.Residuals(points))
	return o
}
