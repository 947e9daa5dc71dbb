package sheet

import (
	"bufio"
	"errors"
	"io"
	"math"
	"os"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
)

// Spool is a file that grows by what is written to it, and is open only then: a
// thousand zones must not hold a thousand files open.
type Spool string

// Write appends to the file, which it makes where there is none.
func (s Spool) Write(b []byte) (n int, err error) {
	f, err := os.OpenFile(string(s), os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return 0, err
	}
	n, err = f.Write(b)
	return n, errors.Join(err, f.Close())
}

// Lines are the burns of a zone as line strings in program XY: straight burns
// that go on along an axis are one stretch, arcs are chords. For the map all of
// them are kept, as the coordinates of a MultiLineString in GeoJSON, in a file; for
// the picture one of so many is kept in memory.
type Lines struct {
	file Spool
	text *bufio.Writer // of the coordinates to the file

	line  orb.LineString // under way
	bound orb.Bound      // of those that have ended

	ended int                 // how many have
	every int                 // each of which one is in the picture
	drawn orb.MultiLineString // those, of so many points together
	size  int
	most  int    // points that are this zone's in any case
	of    *Drawn // those of all zones
}

// Drawn counts the points that the lines of all zones have in the picture.
type Drawn struct{ size, most int }

const (
	// textAtHand bounds what is gathered for the files of all zones together,
	// leastAtHand that of one zone from below.
	textAtHand  = 1 << 20
	leastAtHand = 1 << 12
	// picturePoints is about how many points the burns of all zones have in the
	// picture: beyond, of a zone with more than its part only every second line is drawn, or
	// every fourth, and so on.
	picturePoints = 120_000
	// leastPoints are those of one zone from below.
	leastPoints = 1 << 10
	// linePoints is how many points a line string has at most.
	linePoints = 1 << 10
)

// NewLines gathers lines of one of so many zones, which share what is drawn. The file is
// made when it is needed.
func NewLines(file Spool, zones int, of *Drawn) *Lines {
	of.most = picturePoints
	return &Lines{
		of:   of,
		file: file, text: bufio.NewWriterSize(file, max(textAtHand/max(zones, 1), leastAtHand)),
		bound: orb.MultiPoint(nil).Bound(), every: 1, most: max(picturePoints/max(zones, 1), leastPoints),
	}
}

// Straight draws a straight burn.
func (l *Lines) Straight(x0, y0, x1, y1 float64) {
	from, to := orb.Point{x0, y0}, orb.Point{x1, y1}
	n := len(l.line)
	switch {
	case n == 0 || l.line[n-1] != from || n >= linePoints:
		l.end()
		l.line = append(l.line, from)
	case n > 1 && onward(l.line[n-2], from, to):
		l.line[n-1] = to
		return
	}
	l.line = append(l.line, to)
}

// onward reports whether the way from b to c goes on along the axis along
// which a and b lie.
func onward(a, b, c orb.Point) bool {
	return a[1] == b[1] && b[1] == c[1] && (c[0] > b[0]) == (b[0] > a[0]) && a[0] != b[0] ||
		a[0] == b[0] && b[0] == c[0] && (c[1] > b[1]) == (b[1] > a[1]) && a[1] != b[1]
}

const (
	// arcFine is how far in mm the chords of an arc may be beside it: far less
	// than a beam is wide.
	arcFine = 0.01
	// arcChord bounds the angle of a chord, in radians.
	arcChord = 1
)

// Arc draws the part of an arc from fraction s0 to s1, as chords that are as
// long together as the arc: the points between its ends are a little outside
// it, by less than a chord's middle is inside.
func (l *Lines) Arc(m *machine.Move, s0, s1 float64) {
	turn := math.Abs(m.Sweep * (s1 - s0))
	// Of chords of an angle a the middle of the first is inside by 5a²/48 of the
	// radius, of two the point between them outside by a²/12; all else is less off.
	chord := min(math.Sqrt(arcFine*48/5/max(m.R0, m.R1)), arcChord)
	n := int(min(max(math.Ceil(turn/chord), 2), 1e6))
	// For a radius of 1 the ends are at 1 and the others at k: two chords are
	// between both, n-2 among the others. Newton's method finds k.
	a := turn / float64(n)
	sin, k := math.Sin(a/2), 1+a*a/24*float64(n)/float64(n-1)
	inner := float64(n-2) * 2 * sin
	for range 3 {
		outer := math.Sqrt((k-1)*(k-1) + 4*k*sin*sin)
		if outer < 1e-6 {
			break // it hardly turns
		}
		k += (turn - 2*outer - inner*k) / (2*(k-1+2*sin*sin)/outer + inner)
	}
	at := m.XY(s0)
	for i := 1; i <= n; i++ {
		to := m.XY(s0 + (s1-s0)*float64(i)/float64(n))
		if i < n {
			to[0], to[1] = m.CX+(to[0]-m.CX)*k, m.CY+(to[1]-m.CY)*k
		}
		l.Straight(at[0], at[1], to[0], to[1])
		at = to
	}
}

// Point draws a burn without length, which only shows in the extent.
func (l *Lines) Point(x, y float64) { l.bound = l.bound.Extend(orb.Point{x, y}) }

// Bound is the extent of what was drawn, empty where nothing was.
func (l *Lines) Bound() orb.Bound { return l.bound.Union(l.line.Bound()) }

// end ends the line string under way.
func (l *Lines) end() {
	if len(l.line) == 0 {
		return
	}
	l.bound = l.Bound()
	_, _ = l.text.Write(appendLine(l.text.AvailableBuffer(), l.line, l.ended > 0)) // it keeps its error
	if l.ended%l.every == 0 {
		l.drawn, l.size, l.of.size = append(l.drawn, l.line.Clone()), l.size+len(l.line), l.of.size+len(l.line)
	}
	l.ended++
	for l.size > l.most && l.of.size > l.of.most && len(l.drawn) > 1 {
		l.halve()
	}
	l.line = l.line[:0]
}

// appendLine appends the coordinates of a line string, behind others or not.
func appendLine(dst []byte, line orb.LineString, more bool) []byte {
	if more {
		dst = append(dst, ',')
	}
	for i, at := range line {
		dst = append(dst, "[,"[min(i, 1)], '[')
		dst = appendMM(append(appendMM(dst, at[0]), ','), at[1])
		dst = append(dst, ']')
	}
	return append(dst, ']')
}

// appendMM appends a length in mm, rounded to 1e-7, which keeps lengths right to a
// millionth.
func appendMM(dst []byte, v float64) []byte {
	return strconv.AppendFloat(dst, math.Round(v*1e7)/1e7+0, 'f', -1, 64) // + 0 makes 0 of -0
}

// halve drops every second line string of the picture.
func (l *Lines) halve() {
	l.every *= 2
	l.of.size -= l.size
	l.size = 0
	odd := true
	l.drawn = slices.DeleteFunc(l.drawn, func(line orb.LineString) bool {
		if odd = !odd; !odd {
			l.size += len(line)
		}
		return odd
	})
	l.of.size += l.size
}

// picture are the line strings that the picture shows.
func (l *Lines) picture() orb.MultiLineString {
	l.end()
	return l.drawn
}

// writeTo writes the coordinates of all line strings.
func (l *Lines) writeTo(w *bufio.Writer) error {
	if l.end(); l.ended == 0 {
		return nil
	}
	if err := l.text.Flush(); err != nil {
		return err
	}
	f, err := os.Open(string(l.file))
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}
