package surface

// Point is a measured height, up positive, mm.
type Point struct {
	X, Y, Z float64
	Line    int // of the file that it was read from, from 1
}

// Points returns the nodes that have a height, row after row.
func (s *Surface) Points() []Point {
	points := make([]Point, 0, len(s.z))
	for k, z := range s.z {
		i, j := k%len(s.x), k/len(s.x)
		line := 0
		if j < len(s.source.Rows) { // one that is laid out to many turns has more
			line = s.source.Rows[j]
		}
		if z == z {
			points = append(points, Point{s.x[i], s.y[j], z, line})
		}
	}
	return points
}
