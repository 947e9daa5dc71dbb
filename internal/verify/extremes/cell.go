package extremes

import "math"

// slopeSlack is the part added to the bound of a slope, for the rounding of
// the values it was made from.
const slopeSlack = 1e-6

// steepest bounds the slope, in mm/mm, over regions of both axes. Beyond the
// edge the edge's height goes on, and over a cell that misses a height it is
// the same: there is no slope across the one and none in the other.
func (f *Field) steepest(ix0, ix1, iy0, iy1 int) float64 {
	if f.slopes == nil {
		f.slopes = make([][2]float64, (len(f.x)-1)*(len(f.y)-1))
		for k := range f.slopes {
			g := f.slope(k%(len(f.x)-1), k/(len(f.x)-1))
			f.slopes[k] = g
			f.steep = max(f.steep, math.Hypot(g[0], g[1]))
		}
	}
	if (ix1-ix0+1)*(iy1-iy0+1) > maxTouched {
		return f.steep
	}
	most := 0.0
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			g := f.slopes[cell(f.y, iy)*(len(f.x)-1)+cell(f.x, ix)]
			if ix < 0 || ix >= len(f.x)-1 {
				g[0] = 0
			}
			if iy < 0 || iy >= len(f.y)-1 {
				g[1] = 0
			}
			most = max(most, math.Hypot(g[0], g[1]))
		}
	}
	return most
}

// maxTouched is how many cells a stretch may touch for their slopes to be
// looked at one by one: the four around a node, and a few.
const maxTouched = 9

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
