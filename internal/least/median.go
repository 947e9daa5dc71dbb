package least

import (
	"math"
	"slices"
)

// Select reorders v so that v[k] is what it would be in order, with nothing greater before
// it and nothing smaller behind it, and returns that (C. Hoare, CACM 4 (1961) 321).
func Select(v []float64, k int) float64 {
	for len(v) > 1 {
		pivot := v[len(v)/2]
		i, j := 0, len(v)-1
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for pivot < v[j] {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			v = v[:j+1]
		case k >= i:
			v, k = v[i:], k-i
		default:
			return v[k]
		}
	}
	return v[0]
}

// Median returns the middle of v, 0 where there is nothing. It reorders v.
func Median(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return 0
	}
	middle := Select(v, n/2)
	if n%2 == 1 {
		return middle
	}
	return middle/2 + slices.Max(v[:n/2])/2
}

// Scatter is the standard deviation of residuals whose bulk is scattered
// normally, by the median of their absolute values: a few far off do not count.
func Scatter(r []float64) float64 {
	const ofNormal = 1.4826 // standard deviation over that median
	a := make([]float64, len(r))
	for k, v := range r {
		a[k] = math.Abs(v)
	}
	return ofNormal * Median(a)
}

// Tukey sets the weights w of residuals r whose scatter is sd: the further off,
// the less they count, and beyond some 4.7 times the scatter not at all (A. Beaton
// and J. Tukey, Technometrics 16 (1974) 147).
func Tukey(w, r []float64, sd float64) {
	const cut = 4.685 // gives 95 % efficiency on normal scatter
	for k, v := range r {
		w[k] = 0
		if t := v / (cut * sd); t > -1 && t < 1 {
			w[k] = (1 - t*t) * (1 - t*t)
		}
	}
}
