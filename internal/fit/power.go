package fit

import (
	"cmp"
	"math"
)

// spacingError is a mean square error seen with points spaced wider by a factor.
type spacingError struct{ wider, square float64 }

const (
	// powerStep is the step in which powers are tried; errors by
	// cross-validation tell no finer.
	powerStep = 0.25
	// powerLeast is the least power that is told from noise: of the
	// roughest terrain.
	powerLeast = 0.25
)

// atSpacing says which mean square error the points have as they are, from
// those seen at wider spacings, finest first: n² + c·spacing^2p, the noise and
// an error that goes with a power p of the spacing, up to the method's order.
// Without n it is the extrapolation of L. F. Richardson (Phil. Trans. A 226
// (1927) 299); n is the nugget of geostatistics (G. Matheron, Economic Geology
// 58 (1963) 1246). Neither is below zero. The fit is to the logarithms of the
// three finest.
//
// Where that shows no noise, the power is that between the first error and
// the one at twice its spacing. Real stock and terrain are smoother at close
// quarters, so that the power grows as the spacing falls; where a third doubling
// shows how, half of that growth goes on. known is a power that is known from
// elsewhere, 0 if none.
func atSpacing(levels []spacingError, order, known float64) (square, power float64) {
	first := levels[0]
	if len(levels) == 1 || !(first.square > 0) {
		return first.square, 0
	}
	best, noise := math.Inf(1), 0.0
	square = first.square
	for p := powerLeast; p <= order && len(levels) > 2; p += powerStep {
		n, c := noiseAndPower(levels[:3], p)
		sum := 0.0
		for _, l := range levels[:3] {
			d := math.Log((n + c*l.raised(p)) / l.square)
			sum += d * d
		}
		if sum < best*0.999-1e-9 {
			best, noise = sum, n
			square, power = n+c, p
		}
	}
	near, far := slope(levels, first.wider), slope(levels, 2*first.wider)
	if far > 0 && near > far {
		near += (near - far) / 2
	} else if noise > noisePart*first.square {
		// Noise makes the power fall towards close quarters.
		return min(square, first.square), power
	}
	power = min(max(cmp.Or(known, near), powerLeast), order)
	return first.square / math.Pow(first.wider, 2*power), power
}

// noisePart is the part of the first error that the noise must make up to be
// told from none.
const noisePart = 0.1

// raised is what an error of 1 at the spacing of the points, half way between
// nodes, is at the wider spacing. Nearer to a node, at a part t of the way, it is
// less, as the variance of interpolation is: by (4 t (1-t))^p.
func (l spacingError) raised(p float64) float64 {
	part := 1.0
	if l.wider == 3 {
		part = 8. / 9
	}
	return math.Pow(l.wider, 2*p) * math.Pow(part, p)
}

// slope returns the power between a spacing and twice that, 0 where it is not
// known.
func slope(levels []spacingError, from float64) float64 {
	var a, b float64
	for _, l := range levels {
		if math.Abs(l.wider-from) < 1e-9 {
			a = l.square
		}
		if math.Abs(l.wider-2*from) < 1e-9 {
			b = l.square
		}
	}
	if a == 0 || b == 0 {
		return 0
	}
	return math.Log2(b/a) / 2
}

// noiseAndPower fits n and c for one power, weighing relative errors.
func noiseAndPower(levels []spacingError, p float64) (n, c float64) {
	var a, b, d, e, f float64
	for _, l := range levels {
		u, v := 1/l.square, l.raised(p)/l.square
		a, b, d = a+u*u, b+u*v, d+v*v
		e, f = e+u, f+v
	}
	det := a*d - b*b
	n, c = (e*d-b*f)/det, (a*f-b*e)/det
	switch {
	case n < 0 || !(det > 1e-12*a*d):
		return 0, f / d
	case c < 0:
		return e / a, 0
	}
	return n, c
}
