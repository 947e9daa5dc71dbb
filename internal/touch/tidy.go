package touch

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// SamePlaceMM is how near to each other touches count as one place: coarser
// than the last decimal that machines log (0.001 mm, 0.0001 in) and their
// repeatability, finer than any spacing that is probed on purpose.
const SamePlaceMM = 0.01

const (
	// strayFactor times the probe's spread is too far for a repeated touch.
	strayFactor = 6
	// strayMM is a difference between repeats below which none is stray:
	// it is what a good touch plate or a dial gauge scatters.
	strayMM = 0.05
)

// SamePlace reports whether two touches count as being at one place.
func SamePlace(a, b surface.Point) bool {
	return math.Abs(a.X-b.X) <= SamePlaceMM && math.Abs(a.Y-b.Y) <= SamePlaceMM
}

// middle is the median height.
func middle(p []surface.Point) float64 {
	z := make([]float64, len(p))
	for k := range p {
		z[k] = p[k].Z
	}
	return least.Median(z)
}

// Repeats is what merging found.
type Repeats struct {
	Places  int             // touched more than once
	Touches int             // at those places
	NoiseMM float64         // standard deviation of one touch, 0 where nothing repeats
	Stray   []surface.Point // touches that their repeats (two or more) agree against
	Sinking *Sinking        // nil where places touched again are not found lower
}

// Merge averages touches at one place: the line is the first one's. The noise of
// the probe is the pooled standard deviation of repeats about their means (JCGM
// 100, 4.2 and H.5). A place of three touches or more loses those that are far off
// its median.
func Merge(p []surface.Point) ([]surface.Point, Repeats) {
	var rep Repeats
	groups := group(p)
	rep.Sinking = sinking(groups)
	var off []float64
	for _, g := range groups {
		if len(g) > 2 {
			m := middle(g)
			for _, t := range g {
				off = append(off, t.Z-m)
			}
		}
	}
	limit := max(strayMM, strayFactor*least.Scatter(off))
	merged := make([]surface.Point, 0, len(groups))
	squares, degrees := 0.0, 0
	for _, g := range groups {
		if len(g) > 2 {
			m := middle(g)
			var kept, stray []surface.Point
			for _, t := range g {
				if math.Abs(t.Z-m) > limit {
					stray = append(stray, t)
				} else {
					kept = append(kept, t)
				}
			}
			if len(kept) > len(g)/2 {
				g, rep.Stray = kept, append(rep.Stray, stray...)
			}
		}
		mean := g[0]
		if len(g) > 1 {
			var x, y, z float64
			for _, t := range g {
				x, y, z = x+t.X, y+t.Y, z+(t.Z-g[0].Z)
			}
			n := float64(len(g))
			mean.X, mean.Y, mean.Z = x/n, y/n, g[0].Z+z/n
			for _, t := range g {
				squares += (t.Z - mean.Z) * (t.Z - mean.Z)
			}
			degrees += len(g) - 1
			rep.Places++
			rep.Touches += len(g)
		}
		merged = append(merged, mean)
	}
	rep.NoiseMM = math.Sqrt(squares / float64(max(degrees, 1)))
	return merged, rep
}

// group gathers touches by place, in the order of the log. A place is that
// of its first touch; the cells around it are searched, so that no border
// parts what belongs together.
func group(p []surface.Point) [][]surface.Point {
	const cell = 2 * SamePlaceMM
	type key [2]int64
	of := make(map[key]int, len(p)) // cell of a place's first touch
	var groups [][]surface.Point
	for k := range p {
		kx, ky := int64(math.Floor(p[k].X/cell)), int64(math.Floor(p[k].Y/cell))
		found := -1
		for n := range int64(9) {
			if g, ok := of[key{kx + n/3 - 1, ky + n%3 - 1}]; ok && SamePlace(p[k], groups[g][0]) {
				found = g
				break
			}
		}
		if found < 0 {
			found = len(groups)
			groups = append(groups, nil)
			if _, taken := of[key{kx, ky}]; !taken {
				of[key{kx, ky}] = found
			}
		}
		groups[found] = append(groups[found], p[k])
	}
	return groups
}

// MixedUnits says where the heights of a log look as if they went over into
// another unit, and how: their size jumps by about 25.4 there. "" where they do not.
func MixedUnits(p []surface.Point) string {
	const (
		least   = 3   // touches on either side
		loRatio = 18. // 25.4, with room for the surface's own shape
		hiRatio = 36.
	)
	total := 0.0
	for k := range p {
		total += math.Abs(p[k].Z)
	}
	sum, best, ratio := 0.0, 0.0, 1.0
	line := 0
	for k := range p {
		if n, rest := float64(k), float64(len(p)-k); n >= least && rest >= least {
			a, b := sum/n, (total-sum)/rest
			// The split that parts the sizes best (Otsu's criterion).
			if w := n * rest * (a - b) * (a - b); w > best {
				best, line, ratio = w, p[k].Line, b/a
			}
		}
		sum += math.Abs(p[k].Z)
	}
	what := "larger"
	if ratio < 1 {
		what, ratio = "smaller", 1/ratio
	}
	if !(ratio >= loRatio && ratio <= hiRatio) || !explains(p, line, what == "smaller") {
		return ""
	}
	return fmt.Sprintf("from line %d on heights are about %.0f times %s: a jump of 25.4 is suspected, inches among millimetres", line, ratio, what)
}

// explains reports whether heights lie far better on one bent plane where those from the
// line on, or those before it, are taken for inches.
func explains(p []surface.Point, line int, from bool) bool {
	const better = 0.5 // of what heights are off it otherwise
	mended := slices.Clone(p)
	for k := range mended {
		if (mended[k].Line >= line) == from {
			mended[k].Z *= 25.4
		}
	}
	was, ok := offBentPlane(p)
	is, _ := offBentPlane(mended)
	return !ok || is <= better*was
}

// offBentPlane is the root of the sum of the squares by which heights are off the
// nearest quadric, or off what is left of it where they are few. It reports false where
// there is none.
func offBentPlane(p []surface.Point) (mm float64, ok bool) {
	z := make([]float64, len(p))
	for k := range p {
		z[k] = p[k].Z
	}
	for _, terms := range [...]int{6, 3, 1} {
		x := mat.NewDense(len(p), terms, nil)
		for k := range p {
			dx, dy := p[k].X-p[0].X, p[k].Y-p[0].Y
			x.SetRow(k, []float64{1, dx, dy, dx * dx, dx * dy, dy * dy}[:terms])
		}
		if terms+2 > len(p) {
			continue // it would go through nearly all of them
		}
		if s, err := least.Linear(x, z); err == nil {
			return math.Sqrt(s.Squares), true
		}
	}
	return 0, false
}

// resolution returns the last decimal that heights were written with, in mm,
// scale mm being one of their units: the coarsest power of ten that all are
// whole multiples of, from 1 down to a millionth.
func resolution(p []surface.Point, scale float64) float64 {
	step := 1.0
	for k := range p {
		for step > 1e-6 {
			v := p[k].Z / scale / step
			if math.Abs(v-math.Round(v)) < 1e-4 {
				break
			}
			step /= 10
		}
	}
	return step * scale
}
