package least

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
)

// certified is a data set with what is certified of its fit.
type certified struct {
	x, y        []float64
	beta, sd    []float64
	start       []float64 // the second, nearer one
	squares, s  float64
	degreesFree int
}

func readCertified(t *testing.T, name string) (c certified) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var k int
		var b, sd, one, two, x, y float64
		line := strings.TrimSpace(lines.Text())
		if n, _ := fmt.Sscanf(line, "# b%d certified %g sd %g start1 %g start2 %g", &k, &b, &sd, &one, &two); n == 5 {
			c.beta, c.sd, c.start = append(c.beta, b), append(c.sd, sd), append(c.start, two)
		}
		_, _ = fmt.Sscanf(line, "# residual sum of squares %g, residual sd %g, degrees of freedom %d", &c.squares, &c.s, &c.degreesFree)
		if n, _ := fmt.Sscanf(line, "%g,%g", &y, &x); n == 2 {
			c.x, c.y = append(c.x, x), append(c.y, y)
		}
	}
	return c
}

// Nonlinear fits whose parameters and standard deviations are certified to eleven
// digits. Source: NIST Statistical Reference Datasets (public domain), as carried by the
// lmfit library.
func TestNonlinear(t *testing.T) {
	for name, height := range map[string]func(x float64, b []float64) float64{
		"misra1a": func(x float64, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		"thurber": func(x float64, b []float64) float64 {
			return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
		},
		"mgh09": func(x float64, b []float64) float64 { return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3]) },
		"gauss1": func(x float64, b []float64) float64 {
			sq := func(v float64) float64 { return v * v }
			return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-sq((x-b[3])/b[4])) + b[5]*math.Exp(-sq((x-b[6])/b[7]))
		},
	} {
		c := readCertified(t, "nist_"+name+".csv")
		n, p := len(c.x), len(c.beta)
		if n-p != c.degreesFree || p == 0 {
			t.Fatalf("%s: %d points, %d parameters", name, n, p)
		}
		// In parts of where it starts, so that parameters are of like size.
		scaled := func(q []float64) []float64 {
			b := make([]float64, p)
			for k := range b {
				b[k] = q[k] * c.start[k]
			}
			return b
		}
		residuals := func(r, q []float64) {
			b := scaled(q)
			for k, x := range c.x {
				r[k] = c.y[k] - height(x, b)
			}
		}
		model := func(q, r []float64, j *mat.Dense) {
			residuals(r, q)
			if j != nil {
				fd.Jacobian(j, residuals, q, &fd.JacobianSettings{Formula: fd.Central})
				j.Scale(-1, j)
			}
		}
		one := make([]float64, p)
		for k := range one {
			one[k] = 1
		}
		q, _ := Descend(model, n, one, 1e-14)
		sol, err := At(model, n, q)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for k, b := range scaled(q) {
			g := make([]float64, p)
			g[k] = c.start[k]
			if sd := sol.Deviation(g...); !near(b, c.beta[k], 1e-5) || !near(sd, c.sd[k], 1e-4) {
				t.Errorf("%s: b%d %.9g ± %.9g, want %.9g ± %.9g", name, k+1, b, sd, c.beta[k], c.sd[k])
			}
		}
		if !near(sol.Squares, c.squares, 1e-8) || !near(math.Sqrt(sol.Variance()), c.s, 1e-8) {
			t.Errorf("%s: squares %.11g, residual %.11g, want %.11g and %.11g", name, sol.Squares, math.Sqrt(sol.Variance()), c.squares, c.s)
		}
	}
}

// The calibration of a thermometer, JCGM 100 (the GUM), example H.3 (from memory,
// recomputed): what is read off the line at 30 degrees needs the correlation of its
// parameters, without which it would be 0.0073.
func TestThermometer(t *testing.T) {
	f, err := os.Open("testdata/gum_h3.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var at, b []float64
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var x, y float64
		if n, _ := fmt.Sscanf(lines.Text(), "%g,%g", &x, &y); n == 2 {
			at, b = append(at, x-20), append(b, y)
		}
	}
	x := mat.NewDense(len(at), 2, nil)
	for k, v := range at {
		x.SetRow(k, []float64{1, v})
	}
	sol, err := Linear(x, b)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		g         [2]float64
		value, sd float64
	}{
		{"at 20 degrees", [2]float64{1, 0}, -0.17120379, 0.00287760},
		{"slope", [2]float64{0, 1}, 0.00218270, 0.00066794},
		{"at 30 degrees", [2]float64{1, 10}, -0.14937681, 0.00413860},
	} {
		value, sd := c.g[0]*sol.Beta[0]+c.g[1]*sol.Beta[1], sol.Deviation(c.g[:]...)
		if !near(value, c.value, 1e-5) || !near(sd, c.sd, 1e-5) {
			t.Errorf("%s: %.8f ± %.8f, want %.8f ± %.8f", c.what, value, sd, c.value, c.sd)
		}
	}
	if r := sol.Unit.At(0, 1) / math.Sqrt(sol.Unit.At(0, 0)*sol.Unit.At(1, 1)); !near(r, -0.93042960, 1e-6) {
		t.Errorf("correlation %.8f", r)
	}
}
