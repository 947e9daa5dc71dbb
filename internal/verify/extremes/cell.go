package extremes

import "math"

// slopeSlack is the part added to the bound of a slope, for the rounding of
// the values it was made from.
const slopeSlack = 1e-6

// measure works the slopes of all cells out.
func (f *Field) measure() {
	s, cells := f.at.Surface(), len(f.x)-1
	f.slopes = make([][2]float64, cells*(len(f.y)-1))
	for k := range f.slopes {
		i, j := k%cells, k/cells
		g := f.slope(i, j)
		if v := s.Height(i, j) + s.Height(i+1, j) + s.Height(i, j+1) + s.Height(i+1, j+1); v != v {
			g = [2]float64{math.Inf(1), math.Inf(1)}
		}
		f.slopes[k], f.steep = g, max(f.steep, math.Hypot(g[0], g[1]))
	}
}

// slope bounds the slopes within a cell along both axes. The height there is a
// polynomial of degree three in each direction (at most), and its derivatives
// are nowhere outside the range of their own Bernstein coefficients.
func (f *Field) slope(i, j int) [2]float64 {
	b := f.coefficients(i, j)
	var gx, gy float64
	for r := range 4 {
		for k := range 3 {
			gx = max(gx, math.Abs(b[r][k+1]-b[r][k]))
			gy = max(gy, math.Abs(b[k+1][r]-b[k][r]))
		}
	}
	const more = 3 * (1 + slopeSlack)
	return [2]float64{gx / (f.x[i+1] - f.x[i]) * more, gy / (f.y[j+1] - f.y[j]) * more}
}

// highest bounds the height within a cell, the coefficients' own rounding
// included.
func (f *Field) highest(i, j int) float64 {
	b := f.coefficients(i, j)
	high := math.Inf(-1)
	for _, row := range b {
		high = max(high, row[0], row[1], row[2], row[3])
	}
	return high + CertainMM/100
}

// coefficients gives the Bernstein coefficients of the height within a cell, by
// row (y), then column (x), from its values at sixteen places.
func (f *Field) coefficients(i, j int) (b [4][4]float64) {
	dx, dy := f.x[i+1]-f.x[i], f.y[j+1]-f.y[j]
	for r, t := range cubic.at {
		var v [maxDegree + 1]float64
		for k, s := range cubic.at {
			v[k], _ = f.at.At(f.at.Program(f.x[i]+dx*s, f.y[j]+dy*t))
		}
		row := cubic.through(&v)
		for k := range b {
			for m := range b[k] {
				b[k][m] += cubic.from[k][r] * row.c[m]
			}
		}
	}
	return b
}
