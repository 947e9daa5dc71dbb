package stroke

import (
	"math"
	"testing"
)

// turns gives the change of direction at each point within a line, in degrees,
// to the left positive.
func turns(l Polyline) []float64 {
	var deg []float64
	for i := 2; i < len(l); i++ {
		ax, ay := l[i-1].X-l[i-2].X, l[i-1].Y-l[i-2].Y
		bx, by := l[i].X-l[i-1].X, l[i].Y-l[i-1].Y
		deg = append(deg, math.Atan2(ax*by-ay*bx, ax*bx+ay*by)*180/math.Pi)
	}
	return deg
}

// Curves run into one another and into straights without a corner.
func TestRoundLettersHaveNoCorners(t *testing.T) {
	const sharpest = 20 // degrees, at chords of a 12 mm capital
	for _, r := range "CGJOSUacefgijlostu0689°()" {
		for _, line := range Text(string(r), 12, 0, 0) {
			corners := 0
			for _, deg := range turns(line) {
				if math.Abs(deg) > sharpest {
					corners++
				}
			}
			// The bars of G and e meet the round at a right angle.
			allowed := map[rune]int{'G': 1, 'e': 1}[r]
			if corners > allowed {
				t.Errorf("%q: %d corners", r, corners)
			}
		}
	}
}

func TestOvalsTurnOneWay(t *testing.T) {
	for _, r := range "0Oo°DC" {
		for _, line := range Text(string(r), 12, 0, 0) {
			sum, sign := 0.0, 0.0
			for _, deg := range turns(line) {
				if deg*sign < -1e-6 {
					t.Errorf("%q turns both ways", r)
				}
				if math.Abs(deg) > 1e-6 {
					sign = deg
				}
				sum += deg
			}
			if math.Abs(sum) > 360 {
				t.Errorf("%q turns by %g degrees", r, sum)
			}
		}
	}
}
