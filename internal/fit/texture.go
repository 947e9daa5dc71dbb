package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

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

// FlatnessOf works it out. Settled is false where the points settle no
// quadric.
func FlatnessOf(points []surface.Point) Flatness {
	few := thinOut(points, formPoints)
	f := newFrame(few)
	q, terms, err := f.quadric()
	var o Flatness
	if err != nil {
		return o
	}
	lo, hi := box(points)
	// The quadric's terms about the middle of the rectangle.
	a, b := (hi[0]-lo[0])/2/f.unit, (hi[1]-lo[1])/2/f.unit
	if terms == 6 {
		o.BowX, o.BowY, o.Twist = -q[3]*a*a*f.unit, -q[5]*b*b*f.unit, 4*q[4]*a*b*f.unit
		o.Settled = true
	}
	p, err := FitForm("plane", few)
	if err != nil {
		return o
	}
	o.SlopeX, o.SlopeY = p.p[1], p.p[2]
	o.Texture = TextureOf(p.residuals(points))
	return o
}

// Skin is what a slope does to a mark.
type Skin struct {
	MaxSlope float64    // greatest slope
	At       [2]float64 // and where
	// MeanLonger is by what part the skin is longer than the drawing, on
	// average along the direction that is steepest on average; MostLonger at
	// the steepest place. The spot is stretched by one more than that.
	MeanLonger, MostLonger float64
}

// SkinOf looks at the slopes of a shape over the hull of its points.
func SkinOf(shape Shape, points []surface.Point) Skin {
	lo, hi := box(points)
	h := newHull(points)
	const n = 60
	dx, dy := (hi[0]-lo[0])/n, (hi[1]-lo[1])/n
	var s Skin
	var sumX, sumY, count float64
	for j := range n {
		for i := range n {
			x, y := lo[0]+dx*(float64(i)+0.5), lo[1]+dy*(float64(j)+0.5)
			if !h.holds(x, y) {
				continue
			}
			gx := (shape.At(x+dx/2, y) - shape.At(x-dx/2, y)) / dx
			gy := (shape.At(x, y+dy/2) - shape.At(x, y-dy/2)) / dy
			g := math.Hypot(gx, gy)
			if g != g {
				continue
			}
			sumX += math.Hypot(1, gx) - 1
			sumY += math.Hypot(1, gy) - 1
			count++
			if g > s.MaxSlope {
				s.MaxSlope, s.At = g, [2]float64{x, y}
			}
		}
	}
	s.MeanLonger = max(sumX, sumY) / max(count, 1)
	s.MostLonger = math.Hypot(1, s.MaxSlope) - 1
	return s
}
