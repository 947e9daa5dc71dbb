package least

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		v    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{5, 1}, 3}, {[]float64{9, -1, 2}, 2}, {[]float64{4, 1, 3, 2}, 2.5}} {
		if got := Median(c.v); got != c.want {
			t.Errorf("median of %v: %v, want %v", c.v, got, c.want)
		}
	}
}

// Select and Median do what sorting does.
func TestSelect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1, 1), rapid.SampledFrom([]float64{0, 0.5})), 1, 50).Draw(t, "v")
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		want := slices.Sorted(slices.Values(v))
		middle := (want[len(v)/2] + want[(len(v)-1)/2]) / 2
		got := Select(v, k)
		if got != want[k] || v[k] != got || k > 0 && slices.Max(v[:k]) > got || slices.Min(v[k:]) < got {
			t.Fatalf("%v at %d of %v, want %v", got, k, v, want[k])
		}
		if m := Median(v); m != middle || !slices.Equal(slices.Sorted(slices.Values(v)), want) {
			t.Fatalf("middle %v, want %v", m, middle)
		}
	})
}

// The scatter of normal residuals is their standard deviation, and a tenth of
// them far off hardly changes it.
func TestScatter(t *testing.T) {
	const sd, n = 0.3, 1000
	var r []float64
	for k := range n {
		r = append(r, sd*math.Sqrt2*math.Erfinv(2*(float64(k)+0.5)/n-1))
	}
	if got := Scatter(r); math.Abs(got-sd) > 0.003*sd {
		t.Errorf("scatter %v, want %v", got, sd)
	}
	for k := range n / 10 {
		r[10*k] = 100
	}
	if got := Scatter(r); math.Abs(got-sd) > 0.2*sd {
		t.Errorf("scatter %v with some far off, want %v", got, sd)
	}
}

func TestTukey(t *testing.T) {
	r := []float64{0, 1, -1, 4.6, -4.7, 100}
	w := make([]float64, len(r))
	Tukey(w, r, 1)
	if w[0] != 1 || w[1] != w[2] || w[4] != 0 || w[5] != 0 || !(w[0] > w[1] && w[1] > w[3] && w[3] > 0) {
		t.Errorf("weights %v of %v", w, r)
	}
}
