package surface

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
)

const (
	// wrapNodes is about how many nodes a surface that repeats is laid out
	// to; wrapTurns bounds how often it is, either way. A mark wound round a
	// cup a hundred times fits.
	wrapNodes = 200_000
	wrapTurns = 100
	// wrapLeast turns either way serve any drawing that was not wound, also
	// one that starts a turn below zero.
	wrapLeast = 3
	// wrapGap is how much wider the seam may be than the widest other cell:
	// rows that were measured on half of the round only say nothing of the
	// other half.
	wrapGap = 2.5
	// seamPart is how near, as a part of a turn, the last row is to the
	// first a turn later to be that row again.
	seamPart = 1e-6
)

// GoesRound gives nil for heights at y, ascending, that go once round a surface
// that repeats after a turn, in mm; else it says what is wrong with them.
func GoesRound(y []float64, turn float64) error {
	span, widest := y[len(y)-1]-y[0], 0.0
	for k := 1; k < len(y); k++ {
		widest = max(widest, y[k]-y[k-1])
	}
	switch gap := turn - span; {
	case gap < -seamPart*turn:
		return fmt.Errorf("the rows cover %.6g mm, more than the %.6g mm after which the surface is to repeat", span, turn)
	case gap > wrapGap*widest:
		return fmt.Errorf("the rows leave %.6g mm of each turn of %.6g mm without a height; measure all round", gap, turn)
	}
	return nil
}

// unrolled lays a surface that repeats in y out to as many turns as serve,
// and returns it unchanged where it does not repeat. Heights are continuous
// over the seam: the cell there lies between the last row and the first of
// the next turn. Where the last row is the first again, both are measured
// heights of one place, and their mean counts. The spline of the bicubic
// method runs on over the seam in all turns; only its ends, at the outermost
// turns, know of an end.
func (s *Surface) unrolled() (*Surface, error) {
	turn := s.header.WrapsYMM
	if turn == 0 {
		return s, nil
	}
	fail := func(what string) error {
		if p, ok := s.source.Where["wraps_y_mm"]; ok {
			return &diag.Error{Kind: diag.Malformed, Place: p, What: what}
		}
		return diag.Errorf(diag.Setting, "", "%s", what)
	}
	if err := GoesRound(s.y, turn); err != nil {
		return nil, fail(err.Error())
	}
	nx, ny := len(s.x), len(s.y)
	z, e := slices.Clone(s.z), slices.Clone(s.errors)
	if turn-(s.y[ny-1]-s.y[0]) <= seamPart*turn {
		last := (ny - 1) * nx
		for i := range nx {
			switch a, b := z[i], z[last+i]; {
			case a != a:
				z[i] = b
				if e != nil {
					e[i] = e[last+i]
				}
			case b == b:
				z[i] = a/2 + b/2
				if e != nil {
					e[i] = max(e[i], e[last+i])
				}
			}
		}
		ny--
		if ny < 2 {
			return nil, fail("a surface that repeats needs two rows or more in each turn")
		}
	}
	turns := min(max(wrapNodes/(2*nx*ny), wrapLeast), wrapTurns)
	for turns > 1 && float64(turns+1)*turn+math.Abs(s.y[0]) > MaxCoordMM {
		turns--
	}
	u := *s
	u.y = make([]float64, (2*turns+1)*ny+1)
	for j := range u.y {
		u.y[j] = s.y[j%ny] + float64(j/ny-turns)*turn
	}
	u.z = append(slices.Repeat(z[:ny*nx], 2*turns+1), z[:nx]...)
	if e != nil {
		u.errors = append(slices.Repeat(e[:ny*nx], 2*turns+1), e[:nx]...)
	}
	return &u, nil
}
