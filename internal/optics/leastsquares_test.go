package optics

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// plain turns a quadratic on a scale into coefficients of x and their standard
// deviations.
func plain(s scale, sol solution) (beta, sd [3]float64) {
	m, h := s.mid, s.half
	rows := [3][3]float64{{1, -m / h, m * m / (h * h)}, {0, 1 / h, -2 * m / (h * h)}, {0, 0, 1 / (h * h)}}
	for i, g := range rows {
		for j := range g {
			beta[i] += g[j] * sol.beta[j]
		}
		sd[i] = sol.deviation(g[:]...)
	}
	return beta, sd
}

// Source: NIST StRD, Pontius load cell calibration, certified values (public
// domain): coefficients, their standard deviations and the residual one.
func TestPontius(t *testing.T) {
	text, err := os.ReadFile("testdata/nist_pontius.csv")
	if err != nil {
		t.Fatal(err)
	}
	var x, y []float64
	for line := range strings.Lines(string(text)) {
		a, b, _ := strings.Cut(strings.TrimSpace(line), ",")
		v, err := strconv.ParseFloat(a, 64)
		if err != nil {
			continue // the head
		}
		w, err := strconv.ParseFloat(b, 64)
		if err != nil {
			t.Fatal(err)
		}
		y, x = append(y, v), append(x, w)
	}
	if len(x) != 40 {
		t.Fatalf("%d rows", len(x))
	}
	s := scaleOf(x)
	sol, ok := fitQuadratic(s, x, y, nil)
	if !ok {
		t.Fatal("no solution")
	}
	beta, sd := plain(s, sol)
	wantBeta := [3]float64{0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14}
	wantSD := [3]float64{0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16}
	for j := range beta {
		// Twelve digits of the fifteen certified; nine are asked for.
		if !near(beta[j], wantBeta[j], 1e-12) || !near(sd[j], wantSD[j], 1e-11) {
			t.Errorf("B%d %.15g ± %.15g, want %.15g ± %.15g", j, beta[j], sd[j], wantBeta[j], wantSD[j])
		}
	}
	if got := math.Sqrt(sol.variance()); !near(got, 0.205177424076185e-03, 1e-12) {
		t.Errorf("residual %.15g", got)
	}
}

// Places far from zero cost no digits.
func TestQuadraticFarFromZero(t *testing.T) {
	const far = 1e6
	var x, y []float64
	for i := range 11 {
		u := float64(i) - 5
		x, y = append(x, far+u), append(y, 3+2*u+u*u)
	}
	s := scaleOf(x)
	sol, ok := fitQuadratic(s, x, y, nil)
	if !ok || !near(sol.beta[0], 3, 1e-13) || !near(sol.beta[1], 10, 1e-13) || !near(sol.beta[2], 25, 1e-13) {
		t.Errorf("%v %v", sol.beta, ok)
	}
}

func TestLeastSquaresRefuses(t *testing.T) {
	for name, x := range map[string]*mat.Dense{
		"fewer rows than columns": mat.NewDense(1, 2, []float64{1, 2}),
		"columns alike":           mat.NewDense(3, 2, []float64{1, 1, 2, 2, 3, 3}),
		"a column of nothing":     mat.NewDense(3, 2, []float64{1, 0, 2, 0, 3, 0}),
	} {
		n, _ := x.Dims()
		if sol, ok := leastSquares(x, make([]float64, n)); ok {
			t.Errorf("%s: %v", name, sol.beta)
		}
	}
	if sol, ok := fitQuadratic(scaleOf([]float64{2, 2, 2}), []float64{2, 2, 2}, []float64{1, 2, 3}, nil); ok {
		t.Errorf("one place: %v", sol.beta)
	}
}
