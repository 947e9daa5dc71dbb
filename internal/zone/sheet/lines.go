package sheet

import (
	"bufio"
	"errors"
	"io"
	"math"
	"os"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"

	"sagitta/internal/machine"
)

// Lines are the burns of a zone as line strings in program XY: straight burns
// that go on along an axis are one stretch. So many points are kept in memory,
// and what came before them in a file that is opened only to be written to: a
// thousand zones must not hold a thousand files open.
type Lines struct {
	file   string
	most   int
	points []orb.Point // of the line strings at hand, one behind the other
	ends   []int       // where those end in points that are complete
	bound  orb.Bound   // of what is not at hand
	total  int         // points of what is not at hand
	err    error
}

const (
	// pointsAtHand bounds the points in memory of all zones together (0.5 MB,
	// of which the map makes ten times as much), leastAtHand those of one zone
	// from below.
	pointsAtHand = 1 << 15
	leastAtHand  = 1 << 10
)

// NewLines gathers lines of one of so many zones. The file is made when it is
// needed, and Remove deletes it.
func NewLines(file string, zones int) *Lines {
	return &Lines{file: file, most: max(pointsAtHand/max(zones, 1), leastAtHand), bound: orb.MultiPoint(nil).Bound()}
}

// Straight draws a straight burn.
func (l *Lines) Straight(x0, y0, x1, y1 float64) {
	from, to := orb.Point{x0, y0}, orb.Point{x1, y1}
	n := len(l.points)
	switch begin := l.begin(); {
	case n == begin || l.points[n-1] != from:
		l.end()
		l.points = append(l.points, from)
	case n > begin+1 && onward(l.points[n-2], from, to):
		l.points[n-1] = to
		return
	}
	l.points = append(l.points, to)
	if len(l.points) >= l.most {
		l.flush()
		l.points = append(l.points, to)
	}
}

// onward reports whether the way from b to c goes on along the axis along
// which a and b lie.
func onward(a, b, c orb.Point) bool {
	return a[1] == b[1] && b[1] == c[1] && (c[0] > b[0]) == (b[0] > a[0]) && a[0] != b[0] ||
		a[0] == b[0] && b[0] == c[0] && (c[1] > b[1]) == (b[1] > a[1]) && a[1] != b[1]
}

// arcChord is the angle in radians of the chords that stand for an arc.
const arcChord = 0.2

// Arc draws the part of an arc from fraction s0 to s1, as chords that are as
// long together as the arc: the points between its ends are a little outside
// it, by less than a chord's middle would be inside.
func (l *Lines) Arc(m *machine.Move, s0, s1 float64) {
	turn := math.Abs(m.Sweep * (s1 - s0))
	n := int(min(max(math.Ceil(turn/arcChord), 2), 1e6))
	step := turn / float64(n)
	// For a radius of 1 the ends are at 1 and the others at k: two chords are
	// between both, n-2 among the others.
	length := func(k float64) float64 {
		return 2*math.Sqrt(1+k*k-2*k*math.Cos(step)) + float64(n-2)*2*k*math.Sin(step/2)
	}
	k, hi := 1.0, 1+step*step
	for range 60 {
		if mid := (k + hi) / 2; length(mid) < turn {
			k = mid
		} else {
			hi = mid
		}
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
func (l *Lines) Bound() orb.Bound { return l.bound.Union(orb.MultiPoint(l.points).Bound()) }

// begin is where the line string under way begins in points.
func (l *Lines) begin() int {
	if n := len(l.ends); n > 0 {
		return l.ends[n-1]
	}
	return 0
}

// end ends the line string under way.
func (l *Lines) end() {
	if begin := l.begin(); len(l.points) > begin+1 {
		l.ends = append(l.ends, len(l.points))
	} else {
		l.points = l.points[:begin]
	}
}

// atHand are the line strings in memory.
func (l *Lines) atHand() orb.MultiLineString {
	l.end()
	out := make(orb.MultiLineString, len(l.ends))
	begin := 0
	for i, end := range l.ends {
		out[i] = l.points[begin:end]
		begin = end
	}
	return out
}

// flush appends the line strings at hand to the file.
func (l *Lines) flush() {
	list := l.atHand()
	l.bound, l.total = l.Bound(), l.total+len(l.points)
	if l.err == nil {
		b, err := wkb.Marshal(list)
		if err == nil {
			err = Append(l.file, b)
		}
		l.err = err
	}
	l.points, l.ends = l.points[:0], l.ends[:0]
}

// Append appends to a file, which it makes where there is none.
func Append(name string, b []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// each calls do for the line strings in order, a bounded number at a time; at
// least once.
func (l *Lines) each(do func(orb.MultiLineString) error) error {
	if l.err != nil {
		return l.err
	}
	if l.total > 0 {
		f, err := os.Open(l.file)
		if err != nil {
			return err
		}
		defer f.Close()
		d := wkb.NewDecoder(bufio.NewReader(f))
		for {
			g, err := d.Decode()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return err
			}
			if list, is := g.(orb.MultiLineString); is {
				if err := do(list); err != nil {
					return err
				}
			}
		}
	}
	if list := l.atHand(); len(list) > 0 || l.total == 0 {
		return do(list)
	}
	return nil
}

// Remove deletes the file. It gives the error of writing to it, if any.
func (l *Lines) Remove() error {
	if l.total > 0 {
		if err := os.Remove(l.file); l.err == nil {
			l.err = err
		}
	}
	return l.err
}
