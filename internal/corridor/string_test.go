package corridor

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// tube is a tube of gates as the string takes it.
type tube struct{ t, lo, hi []float64 }

func readCSV(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func num(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func tubeCases(t testing.TB) map[string]*tube {
	m := map[string]*tube{}
	for _, r := range readCSV(t, "testdata/tube_cases.csv") {
		tb := m[r[0]]
		if tb == nil {
			tb = &tube{}
			m[r[0]] = tb
		}
		tb.t = append(tb.t, num(t, r[1]))
		tb.lo = append(tb.lo, num(t, r[2]))
		tb.hi = append(tb.hi, num(t, r[3]))
	}
	return m
}

func (tb *tube) pull() []float64 {
	c := make([]float64, len(tb.t))
	new(tautString).pull(tb.t, tb.lo, tb.hi, c)
	return c
}

// figures gives the greatest slope and the total variation of c over t.
func figures(t, c []float64) (peak, variation float64) {
	for i := 1; i < len(t); i++ {
		d := math.Abs(c[i] - c[i-1])
		variation += d
		peak = math.Max(peak, d/(t[i]-t[i-1]))
	}
	return peak, variation
}

// TestStringOptima holds the string to optima that linear programming (SciPy
// 1.10.1 linprog, HiGHS) found for the same tubes.
func TestStringOptima(t *testing.T) {
	cases := tubeCases(t)
	rows := readCSV(t, "testdata/tube_optima.csv")
	if len(rows) != 5 {
		t.Fatalf("%d optima, want 5", len(rows))
	}
	for _, r := range rows {
		tb := cases[r[0]]
		peak, variation := figures(tb.t, tb.pull())
		if want := num(t, r[2]); math.Abs(peak-want) > 1e-6 {
			t.Errorf("%s: peak slope %.9f, want %.9f", r[0], peak, want)
		}
		if want := num(t, r[3]); math.Abs(variation-want) > 1e-6 {
			t.Errorf("%s: total variation %.9f, want %.9f", r[0], variation, want)
		}
	}
}

// drawTube draws tubes that like to touch, to coincide and to crowd.
func drawTube(t *rapid.T) *tube {
	n := rapid.IntRange(2, 40).Draw(t, "n")
	tb := &tube{}
	at, mid := 0.0, 0.0
	for i := 0; i < n; i++ {
		at += rapid.SampledFrom([]float64{1e-9, 1e-6, 0.01, 0.5, 1, 1, 1, 30}).Draw(t, "dt")
		mid += rapid.SampledFrom([]float64{-1, -0.25, 0, 0, 0.25, 1, 1e-12}).Draw(t, "dm")
		half := rapid.SampledFrom([]float64{0, 1e-12, 0.125, 0.5, 2, math.Inf(1)}).Draw(t, "half")
		lo, hi := mid-half, mid+half
		if isInf(half) {
			lo = mid
		}
		if i == 0 || i == n-1 {
			lo, hi = mid, mid
		}
		tb.t, tb.lo, tb.hi = append(tb.t, at), append(tb.lo, lo), append(tb.hi, hi)
	}
	return tb
}

// TestStringIsTaut checks what makes a path in a tube the taut string: it is
// inside, and it bends upward only at an upper end and downward only at a
// lower end. A path with these two properties is the shortest one.
func TestStringIsTaut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tb := drawTube(t)
		c := tb.pull()
		for i := range c {
			if !(tb.lo[i] <= c[i] && c[i] <= tb.hi[i]) {
				t.Fatalf("gate %d: c %g outside [%g, %g]", i, c[i], tb.lo[i], tb.hi[i])
			}
		}
		// A bend is what c misses the chord of its neighbours by, and is
		// told from rounding by the size of the numbers.
		const rounding = 1e-11
		for i := 1; i+1 < len(c); i++ {
			f := (tb.t[i] - tb.t[i-1]) / (tb.t[i+1] - tb.t[i-1])
			bend := c[i-1] + (c[i+1]-c[i-1])*f - c[i]
			if bend > rounding && c[i] < tb.hi[i]-rounding {
				t.Fatalf("gate %d bends up by %g away from its upper end", i, bend)
			}
			if bend < -rounding && c[i] > tb.lo[i]+rounding {
				t.Fatalf("gate %d bends down by %g away from its lower end", i, bend)
			}
		}
	})
}

// No path in the tube is calmer. Its least greatest slope is what two gates ask of
// each other (a function through windows has a Lipschitz constant if any two of
// them leave it: E. J. McShane, Bull. AMS 40 (1934) 837), and a path of least
// variation stands at ends of windows only, of which all are tried.
func TestStringIsCalmest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tb := drawTube(t)
		peak, variation := figures(tb.t, tb.pull())
		least, values := 0.0, []float64(nil)
		for i := range tb.t {
			for j := range i {
				gap := max(tb.lo[i]-tb.hi[j], tb.lo[j]-tb.hi[i])
				least = max(least, gap/(tb.t[i]-tb.t[j]))
			}
			for _, v := range [2]float64{tb.lo[i], tb.hi[i]} {
				if !isInf(v) {
					values = append(values, v)
				}
			}
		}
		if peak > least*(1+1e-6)+1e-2 { // a bit of rounding over a nanosecond
			t.Fatalf("peak %g, least %g", peak, least)
		}
		best := make([]float64, len(values))
		for i := range tb.t {
			next := make([]float64, len(values))
			for q, v := range values {
				next[q] = math.Inf(1)
				for r := range values {
					if w := best[r] + math.Abs(v-values[r]); i > 0 && w < next[q] {
						next[q] = w
					}
				}
				if i == 0 {
					next[q] = 0
				}
				if v < tb.lo[i] || v > tb.hi[i] {
					next[q] = math.Inf(1)
				}
			}
			best = next
		}
		calmest := math.Inf(1)
		for _, v := range best {
			calmest = min(calmest, v)
		}
		if variation > calmest+1e-9 {
			t.Fatalf("variation %g, least %g", variation, calmest)
		}
	})
}

// TestStringAtRest: where the tube holds a level throughout, the string from
// that level to that level is that level to the last bit, so that flat stock
// changes nothing.
func TestStringAtRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tb := drawTube(t)
		rest := rapid.Float64Range(-3, 3).Draw(t, "rest")
		for i := range tb.t {
			tb.lo[i], tb.hi[i] = math.Min(tb.lo[i], rest), math.Max(tb.hi[i], rest)
		}
		n := len(tb.t) - 1
		tb.lo[0], tb.hi[0], tb.lo[n], tb.hi[n] = rest, rest, rest, rest
		for i, c := range tb.pull() {
			if c != rest {
				t.Fatalf("gate %d: %v, want exactly %v", i, c, rest)
			}
		}
	})
}

func BenchmarkString(b *testing.B) {
	tb := &tube{}
	for i := 0; i < 10000; i++ {
		x := float64(i)
		h := math.Sin(x/300) + 0.1*math.Sin(x/7)
		tb.t, tb.lo, tb.hi = append(tb.t, x), append(tb.lo, h-0.5), append(tb.hi, h+0.5)
	}
	tb.lo[0], tb.hi[9999] = tb.hi[0], tb.lo[9999]
	c := make([]float64, len(tb.t))
	var f tautString
	b.ReportAllocs()
	for b.Loop() {
		f.pull(tb.t, tb.lo, tb.hi, c)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(c)), "ns/gate")
}
