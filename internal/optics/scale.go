package optics

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
)

// centred maps places on an axis to about -1 to 1, so that the columns 1, u, u²
// of a quadratic are far from dependent however far from zero the places lie.
type centred struct{ mid, half float64 }

func centre(x []float64) centred {
	lo, hi := slices.Min(x), slices.Max(x)
	s := centred{mid: lo + (hi-lo)/2, half: (hi - lo) / 2}
	if s.half == 0 {
		s.half = 1
	}
	return s
}

func (s centred) to(x float64) float64 { return (x - s.mid) / s.half }

// fitQuadratic fits y = a + b u + c u², u being x on the scale, with each row
// multiplied by its weight: one over the standard deviation of its y.
func fitQuadratic(s centred, x, y, weight []float64) (least.Solution, error) {
	rows, rhs := mat.NewDense(len(x), 3, nil), make([]float64, len(x))
	for i, w := range weight {
		u := s.to(x[i])
		rows.SetRow(i, []float64{w, w * u, w * u * u})
		rhs[i] = w * y[i]
	}
	return least.Linear(rows, rhs)
}
