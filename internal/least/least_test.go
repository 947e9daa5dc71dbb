package least

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func near(a, b, part float64) bool { return math.Abs(a-b) <= part*math.Abs(b) }

// quadratic has the columns 1, u, u² for the places (x - mid)/half.
func quadratic(x []float64, mid, half float64) *mat.Dense {
	rows := mat.NewDense(len(x), 3, nil)
	for i, v := range x {
		u := (v - mid) / half
		rows.SetRow(i, []float64{1, u, u * u})
	}
	return rows
}

// Source: NIST StRD, Pontius load cell calibration, certified values (public
// domain): coefficients, their standard deviations and the residual one. As it
// stands, and on a centred, scaled axis.
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
	wantBeta := [3]float64{0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14}
	wantSD := [3]float64{0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16}
	for _, c := range []struct{ m, h, beta, sd float64 }{
		{0, 1, 1e-8, 1e-8},
		{1575000, 1425000, 1e-12, 1e-11}, // twelve digits of the fifteen certified
	} {
		sol, err := Linear(quadratic(x, c.m, c.h), y)
		if err != nil {
			t.Fatal(err)
		}
		// The coefficients of x itself, and their gradients.
		for i, g := range [3][3]float64{{1, -c.m / c.h, c.m * c.m / (c.h * c.h)}, {0, 1 / c.h, -2 * c.m / (c.h * c.h)}, {0, 0, 1 / (c.h * c.h)}} {
			beta := g[0]*sol.Beta[0] + g[1]*sol.Beta[1] + g[2]*sol.Beta[2]
			if sd := sol.Deviation(g[:]...); !near(beta, wantBeta[i], c.beta) || !near(sd, wantSD[i], c.sd) {
				t.Errorf("B%d %.15g ± %.15g, want %.15g ± %.15g", i, beta, sd, wantBeta[i], wantSD[i])
			}
		}
		if got := math.Sqrt(sol.Variance()); !near(got, 0.205177424076185e-03, c.beta) {
			t.Errorf("residual %.15g", got)
		}
	}
}

// Columns of far different sizes are no less told apart than others: units do
// not decide.
func TestUnitsDoNotMatter(t *testing.T) {
	x := mat.NewDense(4, 2, []float64{1, 1e-12, 2, 3e-12, 3, 1e-12, 4, 2e-12})
	sol, err := Linear(x, []float64{1 + 5, 2 + 15, 3 + 5, 4 + 10})
	if err != nil || !near(sol.Beta[0], 1, 1e-12) || !near(sol.Beta[1], 5e12, 1e-12) {
		t.Errorf("%v %v", sol.Beta, err)
	}
}

func TestLinearRefuses(t *testing.T) {
	for name, x := range map[string]*mat.Dense{
		"fewer rows than columns": mat.NewDense(1, 2, []float64{1, 2}),
		"columns alike":           mat.NewDense(3, 2, []float64{1, 1, 2, 2, 3, 3}),
		"a column of nothing":     mat.NewDense(3, 2, []float64{1, 0, 2, 0, 3, 0}),
		"one place":               quadratic([]float64{2, 2, 2}, 2, 1),
	} {
		n, _ := x.Dims()
		if sol, err := Linear(x, make([]float64, n)); err == nil {
			t.Errorf("%s: %v", name, sol.Beta)
		}
	}
}

// decay is y = p0 exp(-p1 x), measured at some places.
func decay(x, y []float64) Residuals {
	return func(p, r []float64, j *mat.Dense) {
		for i, v := range x {
			e := math.Exp(-p[1] * v)
			r[i] = y[i] - p[0]*e
			if j != nil {
				j.SetRow(i, []float64{e, -v * p[0] * e})
			}
		}
	}
}

// What is exact is found exactly, from afar; and for a model that is linear the
// uncertainty is that of Linear.
func TestDescend(t *testing.T) {
	x := []float64{0, 0.5, 1, 2, 3, 5}
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 3 * math.Exp(-0.7*v)
	}
	p, squares := Descend(decay(x, y), len(x), []float64{1, 3}, 0)
	if !near(p[0], 3, 1e-12) || !near(p[1], 0.7, 1e-12) || squares > 1e-25 {
		t.Errorf("%v, %g", p, squares)
	}

	rows, z := quadratic(x, 0, 1), []float64{1, 0, 2, 1, 4, 9}
	want, err := Linear(rows, z)
	if err != nil {
		t.Fatal(err)
	}
	model := func(p, r []float64, j *mat.Dense) {
		var fitted mat.VecDense
		fitted.MulVec(rows, mat.NewVecDense(3, p))
		for i := range r {
			r[i] = z[i] - fitted.AtVec(i)
		}
		if j != nil {
			j.Copy(rows)
		}
	}
	p, _ = Descend(model, len(x), []float64{0, 0, 0}, 0)
	got, err := At(model, len(x), p)
	if err != nil {
		t.Fatal(err)
	}
	for k := range p {
		g := make([]float64, 3)
		g[k] = 1
		if !near(p[k], want.Beta[k], 1e-9) || !near(got.Deviation(g...), want.Deviation(g...), 1e-9) {
			t.Errorf("p%d %v ± %v, want %v ± %v", k, p[k], got.Deviation(g...), want.Beta[k], want.Deviation(g...))
		}
	}
}

// A descent keeps out of where the model has no value.
func TestDescendStaysWhereThereIsAModel(t *testing.T) {
	model := func(p, r []float64, j *mat.Dense) {
		r[0] = -1 - math.Log(p[0])
		if j != nil {
			j.Set(0, 0, 1/p[0])
		}
	}
	p, _ := Descend(model, 1, []float64{20}, 0)
	if !near(p[0], math.Exp(-1), 1e-9) {
		t.Errorf("%v", p)
	}
	if _, err := At(model, 1, []float64{1}); err != nil {
		t.Error(err)
	}
}
