package optics

import "testing"

// Places far from zero cost no digits.
func TestQuadraticFarFromZero(t *testing.T) {
	const far = 1e6
	var x, y, weight []float64
	for i := range 11 {
		u := float64(i) - 5
		x, y, weight = append(x, far+u), append(y, 3+2*u+u*u), append(weight, 1)
	}
	sol, err := fitQuadratic(centre(x), x, y, weight)
	if err != nil || !near(sol.Beta[0], 3, 1e-13) || !near(sol.Beta[1], 10, 1e-13) || !near(sol.Beta[2], 25, 1e-13) {
		t.Errorf("%v %v", sol.Beta, err)
	}
	if sol, err := fitQuadratic(centre([]float64{2, 2, 2}), []float64{2, 2, 2}, []float64{1, 2, 3}, []float64{1, 1, 1}); err == nil {
		t.Errorf("one place: %v", sol.Beta)
	}
}
