package touch

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/internal/surface"
)

const (
	// sinkingLeast is the least number of places touched again that tell sinking from
	// chance, sinkingMM what is no matter, and sinkingSure how sure it must be that
	// chance did not do it.
	sinkingLeast = 4
	sinkingMM    = 0.03
	sinkingSure  = 0.999
)

// Sinking is what places touched again have in common that were found lower then, as thin
// stock is that gives way to the probe.
type Sinking struct {
	MM     float64         // by how much, on average
	Places []surface.Point // the last touches there, those that sank most first
}

// sinking compares the last touch of each place with its first by Student's test of paired
// differences; nil where they do not sink.
func sinking(groups [][]surface.Point) *Sinking {
	type sunk struct {
		at surface.Point
		mm float64
	}
	var all []sunk
	var mm []float64
	for _, g := range groups {
		if len(g) > 1 {
			last := g[len(g)-1]
			all, mm = append(all, sunk{last, g[0].Z - last.Z}), append(mm, g[0].Z-last.Z)
		}
	}
	n := float64(len(all))
	if n < sinkingLeast {
		return nil
	}
	mean, sd := stat.MeanStdDev(mm, nil)
	limit := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(sinkingSure) * sd / math.Sqrt(n)
	if mean < max(limit, sinkingMM) {
		return nil
	}
	slices.SortStableFunc(all, func(a, b sunk) int { return cmp.Compare(b.mm, a.mm) })
	s := &Sinking{MM: mean}
	for _, a := range all {
		s.Places = append(s.Places, a.at)
	}
	return s
}
