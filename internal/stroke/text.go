package stroke

import "math"

// gap is the room between two neighbouring glyphs, in parts of the height of a
// capital.
const gap = 5.0 / unitsPerCap

// Point is a place in mm.
type Point struct{ X, Y float64 }

// Polyline is one stroke of the pen: at least two points, no two neighbours
// alike.
type Polyline []Point

// Width gives the width of a line of text in mm, for capitals capMM high: the
// widths of its glyphs and one gap between each two. A space counts as a
// glyph. The empty text has width 0.
func Width(s string, capMM float64) float64 {
	w, n := 0.0, 0
	for _, r := range s {
		g := glyphOf(r)
		w += g.width / unitsPerCap
		n++
	}
	return (w + gap*float64(max(n-1, 0))) * capMM
}

// Text gives the strokes of one line of text in the order of writing. Its base
// line runs to the right from x, y in mm; capitals are capMM high. Curves are
// cut into chords that leave them by at most 0.01 mm. A character without a
// glyph is an upright box, so that what is missing is seen. A height that is not
// above zero gives nothing.
func Text(s string, capMM, x, y float64) []Polyline {
	if !(capMM > 0) || math.IsInf(capMM, 1) {
		return nil
	}
	var lines []Polyline
	scale, at := capMM/unitsPerCap, 0.0
	for _, r := range s {
		g := glyphOf(r)
		for _, line := range g.flatten(chordErrorMM / scale) {
			for i, p := range line {
				line[i] = Point{x + (at+p.X)*scale, y + p.Y*scale}
			}
			lines = append(lines, line)
		}
		at += g.width + gap*unitsPerCap
	}
	return lines
}
