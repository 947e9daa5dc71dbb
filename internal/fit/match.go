package fit

import (
	"fmt"
	"math"
)

// Pair is a point of the surface and where it is in the program.
type Pair struct {
	From, To [2]float64
	Line     int
}

// Match is a rigid placement: To = R(Deg) From + Shift.
type Match struct {
	Shift      [2]float64
	Deg        float64
	ResidualMM float64   // root mean square of what is left, per pair
	WorstMM    float64   // the largest
	Worst      int       // its pair
	Left       []float64 // distance left of each pair
	Scale      float64   // what a free scale would be: far from 1, units are mixed
	Mirrored   bool      // mirrored points would fit far better
}

// MatchPairs finds the rigid placement that fits three or more pairs best, in
// the least squares of distances (P. Schönemann, Psychometrika 31 (1966) 1;
// in the plane the rotation has this closed form).
func MatchPairs(pairs []Pair) (*Match, error) {
	n := float64(len(pairs))
	if len(pairs) < 3 {
		return nil, fmt.Errorf("%d pairs of points are too few to place a surface and see how well; three or more are needed", len(pairs))
	}
	var cf, ct [2]float64
	for _, p := range pairs {
		for k := range 2 {
			cf[k] += p.From[k] / n
			ct[k] += p.To[k] / n
		}
	}
	var dot, cross, mdot, mcross, ff, tt float64
	for _, p := range pairs {
		a, b := p.From[0]-cf[0], p.From[1]-cf[1]
		c, d := p.To[0]-ct[0], p.To[1]-ct[1]
		dot += a*c + b*d
		cross += a*d - b*c
		mdot += a*c - b*d
		mcross += a*d + b*c
		ff += a*a + b*b
		tt += c*c + d*d
	}
	if ff == 0 || tt == 0 {
		return nil, fmt.Errorf("all pairs are at one place; choose points far apart")
	}
	m := &Match{Deg: math.Atan2(cross, dot) * 180 / math.Pi}
	sin, cos := math.Sincos(m.Deg * math.Pi / 180)
	m.Shift = [2]float64{ct[0] - cos*cf[0] + sin*cf[1], ct[1] - sin*cf[0] - cos*cf[1]}
	m.Scale = math.Hypot(dot, cross) / ff
	sum := 0.0
	for k, p := range pairs {
		d := math.Hypot(cos*p.From[0]-sin*p.From[1]+m.Shift[0]-p.To[0], sin*p.From[0]+cos*p.From[1]+m.Shift[1]-p.To[1])
		m.Left = append(m.Left, d)
		sum += d * d
		if d > m.WorstMM {
			m.WorstMM, m.Worst = d, k
		}
	}
	m.ResidualMM = math.Sqrt(sum / n)
	mirrored := ff + tt - 2*math.Hypot(mdot, mcross)
	m.Mirrored = sum > 1e-6*tt && mirrored < sum/100
	return m, nil
}
