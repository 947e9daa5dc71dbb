package surface

import "math"

// holdHeights returns, for each hole cell, the highest of its own nodes, or
// of the nearest ring of cells that has one. Rings grow
// at the same pace from every cell: a cell first reached in round k takes
// the highest of what its neighbours had in round k-1, which together saw
// exactly the nodes at distance k from it.
func holdHeights(p *Placed) []float64 {
	nx, ny := p.cx, p.y.cells()
	value := make([]float64, nx*ny)
	round := make([]int32, nx*ny)
	var front []int32
	for c := range value {
		k := c/nx*p.nx + c%nx
		value[c] = highest(p.z[k], p.z[k+1], p.z[k+p.nx], p.z[k+p.nx+1])
		round[c] = -1
		if value[c] == value[c] {
			round[c] = 0
			front = append(front, int32(c))
		}
	}
	for k := int32(1); len(front) > 0; k++ {
		var next []int32
		for _, c := range front {
			i, j := int(c)%nx, int(c)/nx
			for b := max(j-1, 0); b <= min(j+1, ny-1); b++ {
				for a := max(i-1, 0); a <= min(i+1, nx-1); a++ {
					n := b*nx + a
					if round[n] == -1 {
						round[n] = k
						next = append(next, int32(n))
					}
					if round[n] == k {
						value[n] = highest(value[n], value[c])
					}
				}
			}
		}
		front = next
	}
	return value
}

// highest returns the greatest value that is not NaN, or NaN.
func highest(v ...float64) float64 {
	m := math.NaN()
	for _, h := range v {
		if h > m || m != m {
			m = h
		}
	}
	return m
}
