package zone

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
)

// track draws the burns of a zone as line strings: straight goes on being one
// stretch as long as it keeps its direction along an axis.
type track struct {
	line   orb.LineString
	x, y   float64 // where the pen is
	bound  orb.Bound
	any    bool
	lines  int
	length float64
	geo    *appender
	keep   *sketch
	buf    []byte
}

// longLine bounds the points held of one line string. The next begins where
// it ends.
const longLine = 4096

// to draws a straight burn.
func (t *track) to(x0, y0, x1, y1 float64) {
	n := len(t.line)
	if n == 0 || x0 != t.x || y0 != t.y {
		t.end()
		t.line = append(t.line[:0], orb.Point{x0, y0})
		n = 1
	}
	if n > 1 {
		a, b := t.line[n-2], t.line[n-1]
		switch {
		case y1 == y0 && a[1] == y0 && (x1 > x0) == (b[0] > a[0]) && a[0] != b[0],
			x1 == x0 && a[0] == x0 && (y1 > y0) == (b[1] > a[1]) && a[1] != b[1]:
			t.line[n-1] = orb.Point{x1, y1}
			t.x, t.y = x1, y1
			return
		}
	}
	t.line = append(t.line, orb.Point{x1, y1})
	t.x, t.y = x1, y1
	if len(t.line) >= longLine {
		t.end()
		t.line = append(t.line[:0], orb.Point{x1, y1})
	}
}

// arcChord is the angle in radians of the chords that stand for an arc.
const arcChord = 0.05

// arc draws the part of an arc from fraction s0 to s1, as chords that are as
// long together as the arc: the points between its ends are a little outside
// it, by less than a chord's middle would be inside.
func (t *track) arc(m *machine.Move, s0, s1 float64) {
	turn := math.Abs(m.Sweep * (s1 - s0))
	n := int(min(max(math.Ceil(turn/arcChord), 2), 1e6))
	step := turn / float64(n)
	r := m.R0 + (m.R1-m.R0)*(s0+s1)/2
	// Ends at r, the others at r·k: two chords between both, n-2 among the
	// others.
	length := func(k float64) float64 {
		return 2*math.Sqrt(1+k*k-2*k*math.Cos(step)) + float64(n-2)*2*k*math.Sin(step/2)
	}
	lo, hi := 1.0, 1+step*step
	for range 60 {
		k := (lo + hi) / 2
		if length(k) < turn {
			lo = k
		} else {
			hi = k
		}
	}
	k := (lo + hi) / 2
	if r == 0 {
		k = 1
	}
	at := m.XY(s0)
	for i := 1; i <= n; i++ {
		s := s0 + (s1-s0)*float64(i)/float64(n)
		to := m.XY(s)
		if i < n {
			to[0], to[1] = m.CX+(to[0]-m.CX)*k, m.CY+(to[1]-m.CY)*k
		}
		t.to(at[0], at[1], to[0], to[1])
		at = to
	}
}

// point draws a burn without length, which only shows in the extent.
func (t *track) point(x, y float64) { t.extent(orb.Point{x, y}) }

func (t *track) extent(p orb.Point) {
	if !t.any {
		t.bound, t.any = p.Bound(), true // a zero Bound would grow from the origin
		return
	}
	t.bound = t.bound.Extend(p)
}

// end ends the line string under way.
func (t *track) end() {
	if len(t.line) < 2 {
		t.line = t.line[:0]
		return
	}
	b := t.buf[:0]
	if t.lines > 0 {
		b = append(b, ',', '\n')
	}
	b = append(b, '[')
	for i, p := range t.line {
		if i > 0 {
			b = append(b, ',')
			t.length += math.Hypot(p[0]-t.line[i-1][0], p[1]-t.line[i-1][1])
		}
		t.extent(p)
		b = append(b, '[')
		b = appendCoordinate(b, p[0])
		b = append(b, ',')
		b = appendCoordinate(b, p[1])
		b = append(b, ']')
	}
	b = append(b, ']')
	_, _ = t.geo.Write(b)
	t.buf = b
	t.lines++
	if t.keep != nil {
		t.keep.add(t.line)
	}
	t.line = t.line[:0]
}

// appendCoordinate spells a coordinate: short decimals, which most are, the
// short way.
func appendCoordinate(b []byte, v float64) []byte {
	const q = 1e4
	if n := math.Round(v * q); n/q == v && math.Abs(n) < 1e12 {
		m := int64(n)
		if m < 0 {
			b = append(b, '-')
			m = -m
		}
		b = strconv.AppendInt(b, m/q, 10)
		if f := m % q; f != 0 {
			b = append(b, '.', byte('0'+f/1000), byte('0'+f/100%10), byte('0'+f/10%10), byte('0'+f%10))
			for b[len(b)-1] == '0' {
				b = b[:len(b)-1]
			}
		}
		return b
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

// sketch keeps enough of the line strings for a picture: every one as long as
// there is room, then every second, and so on.
type sketch struct {
	lines  []orb.LineString
	points int
	stride int
	n      int
	fine   float64 // points closer than this in mm are left out
}

// sketchPoints is how many points a picture has at most.
const sketchPoints = 60_000

func (s *sketch) add(l orb.LineString) {
	s.n++
	if s.stride > 1 && s.n%s.stride != 0 {
		return
	}
	thin := orb.LineString{l[0]}
	for i := 1; i < len(l); i++ {
		p, last := l[i], thin[len(thin)-1]
		if i == len(l)-1 || math.Hypot(p[0]-last[0], p[1]-last[1]) >= s.fine {
			thin = append(thin, p)
		}
	}
	s.lines = append(s.lines, thin)
	s.points += len(thin)
	for s.points > sketchPoints && len(s.lines) > 1 {
		s.stride = 2 * max(s.stride, 1)
		kept, points := s.lines[:0], 0
		for i, l := range s.lines {
			if i%2 == 1 {
				kept = append(kept, l)
				points += len(l)
			}
		}
		s.lines, s.points = kept, points
	}
}
