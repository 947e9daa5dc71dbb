package least

import (
	"bufio"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// regression is a published set: rows of 1, x1, x2, ... and y, which of them are bad,
// and the coefficients of estimators as its head lists them.
type regression struct {
	rows [][]float64
	y    []float64
	bad  []bool
	by   map[string][]float64
}

func readRegression(t *testing.T, name string) (r regression) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r.by = map[string][]float64{}
	for in := bufio.NewScanner(f); in.Scan(); {
		text := in.Text()
		if head, ok := strings.CutPrefix(text, "# "); ok {
			for _, key := range []string{"least squares", "LTS, h 13", "LTS reweighted"} {
				if rest, ok := strings.CutPrefix(head, key+" "); ok {
					for _, w := range strings.Fields(rest) {
						v, err := strconv.ParseFloat(strings.TrimSuffix(w, ","), 64)
						if err != nil {
							break
						}
						r.by[key] = append(r.by[key], v)
					}
				}
			}
			continue
		}
		fields := strings.Split(text, ",")
		v := make([]float64, len(fields))
		for k := range fields {
			if v[k], err = strconv.ParseFloat(fields[k], 64); err != nil {
				break
			}
		}
		if err != nil {
			err = nil
			continue // the names
		}
		n := len(v)
		r.rows = append(r.rows, append([]float64{1}, v[:n-2]...))
		r.y, r.bad = append(r.y, v[n-2]), append(r.bad, v[n-1] != 0)
	}
	return r
}

func (r *regression) trimmed(t *testing.T) Trimmed {
	t.Helper()
	tr := NewTrimmer(len(r.rows[0]))
	for k, row := range r.rows {
		tr.Add(r.y[k], row...)
	}
	got, err := tr.Fit(500)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Published sets whose bad rows mask each other: what is rejected, and the fit to the
// rest, are those of robustbase 0.95-0 and, for the better half, of a search through all
// subsets. The heads of the files name the sources.
func TestTrimmedPublished(t *testing.T) {
	for _, name := range []string{"robust_hbk.csv", "robust_wood.csv", "robust_stackloss.csv"} {
		r := readRegression(t, name)
		got := r.trimmed(t)
		for k := range r.bad {
			if got.Out[k] != r.bad[k] {
				t.Errorf("%s: row %d rejected: %v, want %v", name, k+1, got.Out[k], r.bad[k])
			}
		}
		alike(t, name+" reweighted", got.Beta, r.by["LTS reweighted"], 2e-7)
		if want := r.by["LTS, h 13"]; want != nil {
			alike(t, name+" better half", got.Half, want, 1e-8)
		}
	}
	wood := readRegression(t, "robust_wood.csv")
	if got := wood.trimmed(t).HalfSquares; math.Abs(got-0.000116791242322) > 1e-14 {
		t.Errorf("wood: squares of the better half %v", got)
	}
}

func alike(t *testing.T, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(want) < len(got) {
		t.Fatalf("%s: no values to compare with: %v", what, want)
	}
	for k := range got {
		if math.Abs(got[k]-want[k]) > tol*math.Max(1, math.Abs(want[k])) {
			t.Errorf("%s: coefficient %d is %.10g, want %.10g", what, k, got[k], want[k])
		}
	}
}

// Of good rows few are rejected, and their scatter comes out right; a quarter far off
// on one side changes neither.
func TestTrimmedScatter(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ p, n int }{{3, 16}, {3, 60}, {6, 24}, {6, 60}, {6, 400}} {
		for _, bad := range []int{0, c.n / 4} {
			tr := NewTrimmer(c.p)
			rejected, spread := 0, 0.0
			const runs = 20
			for range runs {
				tr.Clear()
				for k := range c.n {
					x, y := 2*r.Float64()-1, 2*r.Float64()-1
					z := 3 + 2*x - y + r.NormFloat64()
					if k < bad {
						z += 40
					}
					tr.Add(z, 1, x, y, x*x, x*y, y*y)
				}
				got, err := tr.Fit(100)
				if err != nil {
					t.Fatal(err)
				}
				for k, out := range got.Out {
					switch {
					case k < bad && !out:
						t.Errorf("%d rows, %d parameters: one 40 times the scatter off was kept", c.n, c.p)
					case k >= bad && out:
						rejected++
					}
				}
				spread += got.Scatter / runs
			}
			part := float64(rejected) / float64(runs*(c.n-bad))
			if part > 0.15 || spread < 0.7 || spread > 1.2 {
				t.Errorf("%d rows, %d of them bad, %d parameters: %.3f of the good ones rejected, scatter %.3f", c.n, bad, c.p, part, spread)
			}
		}
	}
}

// Rows that settle nothing are refused, and rows that all agree leave nothing out.
func TestTrimmedDegenerate(t *testing.T) {
	tr := NewTrimmer(3)
	for k := range 10 {
		tr.Add(1, 1, float64(k), 2*float64(k))
	}
	if got, err := tr.Fit(20); err != ErrOpen {
		t.Errorf("places on a line: %+v, %v", got, err)
	}
	tr.Clear()
	tr.Add(1, 1, 2, 3)
	if got, err := tr.Fit(20); err != ErrOpen {
		t.Errorf("one row: %+v, %v", got, err)
	}
	tr.Clear()
	for k := range 12 {
		x, y := float64(k%4), float64(k/4)
		tr.Add(1+2*x-y, 1, x, y)
	}
	got, err := tr.Fit(20)
	if err != nil || got.Scatter > 1e-12 {
		t.Errorf("an exact plane: %+v, %v", got, err)
	}
}

// The normal equations give what the decomposition gives, with weights as rows written
// more than once, and its variance factor.
func TestNormal(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	n := NewNormal(3)
	var rows, y []float64
	for k := range 9 {
		row := []float64{1, r.Float64(), r.NormFloat64()}
		z := r.NormFloat64()
		times := 1 + k%3
		n.Add(float64(times), z, row)
		for range times {
			rows, y = append(rows, row...), append(y, z)
		}
	}
	want, err := Linear(mat.NewDense(len(y), 3, rows), y)
	if err != nil {
		t.Fatal(err)
	}
	beta := make([]float64, 3)
	if !n.Solve(beta) {
		t.Fatal("not solved")
	}
	alike(t, "beta", beta, want.Beta, 1e-9)
	first := []float64{1, 0, 0}
	n.Back(first)
	alike(t, "unit", first, []float64{want.Unit.At(0, 0), want.Unit.At(1, 0), want.Unit.At(2, 0)}, 1e-9)
}
