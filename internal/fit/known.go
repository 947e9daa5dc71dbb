package fit

import (
	"slices"

	"sagitta/internal/surface"
)

const (
	// knownCells is about how many cells along an axis the uncertainty is worked out at:
	// it changes slowly, and is read between them.
	knownCells = 24
	// evenPart is by how much it must be greater in one place than in another to be
	// written by place.
	evenPart = 1.1
)

// known is the surface with the uncertainty of each height: of a form and a smooth
// surface as all accounts of the points have it there, of a grid the one that was seen
// between its nodes, and more where a height was filled in; nowhere less than least.
func (s *Written) known(c *Choice, made *surface.Surface, least float64) (*surface.Surface, error) {
	h := made.Header()
	if c.spread == nil || !c.ErrorKnown {
		return made, nil
	}
	nx := len(made.X())
	mm := slices.Repeat([]float64{h.ErrorMM}, nx*len(made.Y()))
	say := func(i, j int, x, y, z float64) {
		if v := c.sureAt(x, y, z); v == v {
			mm[j*nx+i] = max(ceilDigits(v+s.ReadingMM, 3), mm[j*nx+i])
		}
	}
	if c.Grid != nil {
		for _, p := range s.Filled {
			i, j := nearest(made.X(), p[0]), nearest(made.Y(), p[1])
			say(i, j, p[0], p[1], made.Height(i, j))
		}
	} else {
		for k := range mm {
			mm[k] = least
		}
		s.between(c, made, mm)
	}
	if slices.Max(mm) <= evenPart*slices.Min(mm) {
		h.ErrorMM = slices.Max(mm)
		return made.WithHeader(h)
	}
	return made.WithErrors(mm)
}

// between works the uncertainty out at some nodes, and reads it between them.
func (s *Written) between(c *Choice, made *surface.Surface, mm []float64) {
	x, y := made.X(), made.Y()
	i, j := some(len(x)), some(len(y))
	at := make([]float64, len(i)*len(j))
	most := c.floor
	for n := range at {
		px, py := x[i[n%len(i)]], y[j[n/len(i)]]
		at[n] = c.sureAt(px, py, c.Shape.At(px, py))
		if at[n] == at[n] {
			most = max(most, at[n])
		}
	}
	for n := range at {
		if at[n] != at[n] {
			at[n] = most // beyond the edge of a round, where there is no height
		}
	}
	for n := range mm {
		a, u := above(i, n%len(x))
		b, v := above(j, n/len(x))
		lo, hi := at[(b-1)*len(i):], at[b*len(i):]
		read := (1-v)*((1-u)*lo[a-1]+u*lo[a]) + v*((1-u)*hi[a-1]+u*hi[a])
		mm[n] = max(mm[n], ceilDigits(read+s.ReadingMM, 3))
	}
}

// some are the first, the last and some of n nodes between, evenly.
func some(n int) (at []int) {
	step := max((n-1)/knownCells, 1)
	for k := 0; k < n-1; k += step {
		at = append(at, k)
	}
	return append(at, n-1)
}

// above is the place in at of the first node not before k, but the first, and how far k
// is from the one before on the way there.
func above(at []int, k int) (n int, part float64) {
	n, _ = slices.BinarySearch(at, k)
	n = max(n, 1)
	return n, float64(k-at[n-1]) / float64(at[n]-at[n-1])
}

// seek finds the greatest uncertainty within a hull.
func (s *Written) seek(h hull) {
	f := s.Surface
	for j, y := range f.Y() {
		for i, x := range f.X() {
			if z := f.Height(i, j); z == z && f.ErrorAt(i, j) > s.MostErrorMM && h.holds(x, y) {
				s.MostErrorMM, s.MostAt = f.ErrorAt(i, j), [2]float64{x, y}
			}
		}
	}
}
