package stroke

import "math"

// Sizes in parts of the height of a capital. Every glyph stays between
// -Descent and 1 above its base line.
const (
	// Gap is the room between two neighbouring glyphs.
	Gap = 5.0 / unitsPerCap
	// Descent is how far the deepest glyph reaches below the base line.
	Descent = 6.0 / unitsPerCap
)

// Point is a place in mm.
type Point struct{ X, Y float64 }

// Polyline is one stroke of the pen: at least two points, no two neighbours
// alike.
type Polyline []Point

// Has tells whether there is a glyph for r. Text draws an upright box in place
// of any other, so that a letter that is missing is seen.
func Has(r rune) bool {
	_, ok := glyphOf(r)
	return ok
}

// Width gives the width of a line of text in mm, for capitals capMM high: the
// widths of its glyphs and one Gap between each two. A space counts as a
// glyph. The empty text has width 0.
func Width(s string, capMM float64) float64 {
	w, n := 0.0, 0
	for _, r := range s {
		g, _ := glyphOf(r)
		w += g.width / unitsPerCap
		n++
	}
	return (w + Gap*float64(max(n-1, 0))) * capMM
}

// Text gives the strokes of one line of text in the order of writing. Its base
// line begins at x, y in mm and runs at deg degrees, counter-clockwise from
// +x; capitals are capMM high. Curves are cut into chords that leave them by
// at most 0.01 mm. A height that is not above zero gives nothing.
func Text(s string, capMM, x, y, deg float64) []Polyline {
	if !(capMM > 0) || math.IsInf(capMM, 1) {
		return nil
	}
	var lines []Polyline
	sin, cos := math.Sincos(deg * math.Pi / 180)
	scale, at := capMM/unitsPerCap, 0.0
	for _, r := range s {
		g, _ := glyphOf(r)
		for _, line := range g.flatten(chordErrorMM / scale) {
			for i, p := range line {
				u, v := (at+p.X)*scale, p.Y*scale
				line[i] = Point{x + u*cos - v*sin, y + u*sin + v*cos}
			}
			lines = append(lines, line)
		}
		at += g.width + Gap*unitsPerCap
	}
	return lines
}
