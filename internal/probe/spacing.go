package probe

import "math"

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
