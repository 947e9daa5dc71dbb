package stroke

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

//go:embed glyphs.txt
var glyphText string

// glyph is one character: its width in units, and its outline as glyphs.txt
// explains it.
type glyph struct {
	width   float64
	outline string
}

var glyphs = readGlyphs(glyphText)

// missing stands for every character that has no glyph: an upright box.
var missing = glyph{11, "M 0 0 L 0 20 L 11 20 L 11 0 L 0 0"}

// readGlyphs reads the list, which is part of the program: one that cannot be
// read is a bug, and panics.
func readGlyphs(text string) map[rune]glyph {
	all := map[rune]glyph{}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if strings.HasPrefix(line, "#") {
			continue
		}
		r, n := utf8.DecodeRuneInString(line)
		width, outline, _ := strings.Cut(strings.TrimPrefix(line[n:], " "), " ")
		w, err := strconv.ParseFloat(width, 64)
		if err != nil {
			panic("stroke: no width: " + line)
		}
		all[r] = glyph{w, outline}
	}
	return all
}

func glyphOf(r rune) glyph {
	if g, ok := glyphs[r]; ok {
		return g
	}
	return missing
}

// unitsPerCap is the height of a capital in the units that outlines are
// written in.
const unitsPerCap = 20

// chordErrorMM is how far a chord may leave its curve, in mm: a tenth of the
// finest line that a beam burns, so that no corner shows.
const chordErrorMM = 0.01

// mostChords bounds the chords of one curve. At chordErrorMM it is reached by
// letters some metres high.
const mostChords = 400

// flatten gives the glyph's strokes in units, with chords that leave the
// curves by at most tol units. Outlines are part of the program: one that
// cannot be read is a bug, and panics.
func (g glyph) flatten(tol float64) (lines []Polyline) {
	fields := strings.Fields(g.outline)
	number := func() float64 {
		v, err := strconv.ParseFloat(fields[0], 64)
		if err != nil {
			panic("stroke: bad number in outline: " + g.outline)
		}
		fields = fields[1:]
		return v
	}
	next := func() Point {
		x := number()
		return Point{x, number()}
	}
	for len(fields) > 0 {
		step := fields[0]
		fields = fields[1:]
		if step == "M" {
			lines = append(lines, Polyline{next()})
			continue
		}
		line := &lines[len(lines)-1]
		switch step {
		case "L":
			*line = append(*line, next())
		case "H":
			*line = appendQuarter(*line, next(), true, tol)
		case "V":
			*line = appendQuarter(*line, next(), false, tol)
		case "C":
			*line = appendCubic(*line, next(), next(), next(), tol)
		default:
			panic("stroke: unknown step in outline: " + g.outline)
		}
	}
	return lines
}

// appendQuarter appends a quarter of an ellipse from the line's end to p.
func appendQuarter(line Polyline, p Point, sideways bool, tol float64) Polyline {
	from := line[len(line)-1]
	dx, dy := p.X-from.X, p.Y-from.Y
	// A chord over the angle a of a circle leaves it by r·(1 − cos a/2); an
	// ellipse is a circle pressed flat, which brings its chords no further
	// off.
	r := max(math.Abs(dx), math.Abs(dy))
	n := 1
	if tol < r {
		n = chords(math.Pi / 2 / (2 * math.Acos(1-tol/r)))
	}
	for i := 1; i < n; i++ {
		sin, cos := math.Sincos(float64(i) / float64(n) * math.Pi / 2)
		if sideways {
			line = append(line, Point{from.X + dx*sin, from.Y + dy*(1-cos)})
		} else {
			line = append(line, Point{from.X + dx*(1-cos), from.Y + dy*sin})
		}
	}
	return append(line, p)
}

// appendCubic appends a cubic from the line's end to p with the control points
// a and b.
func appendCubic(line Polyline, a, b, p Point, tol float64) Polyline {
	from := line[len(line)-1]
	// A chord over the part 1/n of the parameter leaves a curve by at most
	// max|B″|/(8n²), and |B″| is at most 6 times the greater second
	// difference of the control points.
	second := max(
		math.Hypot(from.X-2*a.X+b.X, from.Y-2*a.Y+b.Y),
		math.Hypot(a.X-2*b.X+p.X, a.Y-2*b.Y+p.Y),
	)
	n := chords(math.Sqrt(6 * second / (8 * tol)))
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		w0, w1, w2, w3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		line = append(line, Point{
			w0*from.X + w1*a.X + w2*b.X + w3*p.X,
			w0*from.Y + w1*a.Y + w2*b.Y + w3*p.Y,
		})
	}
	return append(line, p)
}

// chords rounds a number of chords up, within bounds.
func chords(n float64) int {
	return int(math.Ceil(min(max(n, 1), mostChords)))
}
