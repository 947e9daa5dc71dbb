package machine

import (
	"fmt"
	"math"
	"strconv"

	"sagitta/internal/program"
)

const (
	// radiiDifferMM and radiiDifferIn are how far the radii at an arc's
	// ends may differ, in mm: RS274 3.5.3 allows 0.002 mm or 0.0002 inch.
	// Programs round their ends to the last decimal they write.
	radiiDifferMM = 0.002
	radiiDifferIn = 0.0002 * mmPerInch
	// radiiSlack keeps the rounding of floats from deciding at the limit
	// itself; it is far below any decimal that a program has.
	radiiSlack = 1e-9
)

// ArcDecimals returns how many decimals the ends of an arc need at least, in
// inches or in mm, for its radii to agree: so many round by less than
// radiiDiffer however they fall.
func ArcDecimals(inches bool) int8 {
	if inches {
		return 4
	}
	return 3
}

// arc fills an arc in the XY plane that ends at x, y.
func (ip *Interpreter) arc(l *line, m *Move, x, y coord) error {
	if l.K != 0 {
		ip.lapses.Add(program.FlatCentre, l.b.Line)
	}
	switch {
	case ip.st.Arcs == UnknownArcs:
		// What M2 makes of G90.1 differs between controllers.
		return l.b.Unsupported(l.mover().Start, "an arc after the end of a program in G90.1 is not supported",
			"say G90.1 or G91.1 before it")
	case l.K != 0 && l.word(l.K).Num.Mant != 0:
		return l.b.Malformed(l.word(l.K).Start, "K has no meaning for an arc in the XY plane", "")
	case l.P != 0:
		return l.b.Unsupported(l.word(l.P).Start, "P (turns) on an arc is not supported", "write one arc per turn")
	case l.R != 0 && (l.I != 0 || l.J != 0):
		return l.b.Malformed(l.word(l.R).Start, "an arc with both R and I, J", "")
	case l.R != 0:
		return ip.radiusArc(l, m, x, y)
	case l.I != 0 || l.J != 0:
		if ip.st.Arcs == AbsoluteArcs {
			return ip.absoluteArc(l, m, x, y)
		}
		return ip.centreArc(l, m, x, y, ip.fromStart(l.word(l.I)), ip.fromStart(l.word(l.J)))
	}
	return l.b.Malformed(l.mover().Start, "an arc without I, J or R", fmt.Sprintf("say G1 before it where a straight line is meant: G%d is in force", ip.st.Motion))
}

// radiiDiffer returns the tolerance of radii in the units in force, in mm.
func (ip *Interpreter) radiiDiffer() float64 {
	if ip.st.Inches {
		return radiiDifferIn + radiiSlack
	}
	return radiiDifferMM + radiiSlack
}

// Centres is how I and J count.
type Centres uint8

const (
	// RelativeArcs is G91.1: from the start of the arc.
	RelativeArcs Centres = iota
	// AbsoluteArcs is G90.1: as X and Y in G90.
	AbsoluteArcs
	// UnknownArcs is what the end of a program leaves of G90.1.
	UnknownArcs
)

// fromStart is I or J as a length; without the word it is 0.
func (ip *Interpreter) fromStart(w *program.Word) coord {
	if w == nil {
		return coord{}
	}
	return ip.scale().length(w.Num)
}

// absoluteArc fills an arc whose centre is given as a place.
func (ip *Interpreter) absoluteArc(l *line, m *Move, x, y coord) error {
	if l.I == 0 || l.J == 0 {
		return l.b.Unsupported(l.word(first(l.I, l.J)).Start, "an arc in G90.1 without both I and J is not supported",
			"give the centre's X as I and its Y as J")
	}
	if ip.offset.lost[0] != 0 || ip.offset.lost[1] != 0 {
		return ip.unknown(l, l.word(l.I), "an arc")
	}
	i := ip.scale().length(l.word(l.I).Num).add(ip.offset.by[0]).sub(ip.at[0])
	j := ip.scale().length(l.word(l.J).Num).add(ip.offset.by[1]).sub(ip.at[1])
	return ip.centreArc(l, m, x, y, i, j)
}

// centreArc fills an arc given by its centre, i and j from the start.
func (ip *Interpreter) centreArc(l *line, m *Move, x, y, i, j coord) error {
	at := l.word(first(l.I, l.J))
	a, ok := ip.turnAround(ip.st.Motion, x, y, i, j)
	if !ok {
		// Within the tolerance an end may be the centre itself: there is no
		// angle there.
		return l.b.Malformed(at.Start, "an arc without a radius", "")
	}
	if d := math.Abs(a.R1 - a.R0); d > ip.radiiDiffer() {
		return l.b.Malformed(at.Start, "the arc's radii at its start and end differ by "+
			strconv.FormatFloat(d, 'g', 3, 64)+" mm", "the centre or the end is wrong, or the head is not where the program believes")
	}
	a.Set(m)
	return nil
}

// turnAround gives the arc of a motion to x, y whose centre is i, j from the
// start. It reports false for one without a radius; whether the radii differ
// too much is for the caller.
func (ip *Interpreter) turnAround(motion int8, x, y, i, j coord) (a Turn, ok bool) {
	a.CX, a.CY = ip.at[0].add(i).mm(), ip.at[1].add(j).mm()
	// The ends seen from the centre: differences of the program's own
	// numbers, so that an arc far from zero loses nothing.
	a.X0, a.Y0 = -i.mm(), -j.mm()
	x1, y1 := x.sub(ip.at[0]).sub(i).mm(), y.sub(ip.at[1]).sub(j).mm()
	a.R0, a.R1 = radius(a.X0, a.Y0), radius(x1, y1)
	if a.R0 == 0 || a.R1 == 0 {
		return a, false
	}
	// An end where it started is at the same X0, Y0 to the last bit.
	a.Sweep = sweep(motion, a.X0, a.Y0, x1, y1)
	return a, true
}

// radius is that of an end seen from the centre.
func radius(x, y float64) float64 { return math.Sqrt(x*x + y*y) }

// Turn is an arc without its ends: round CX, CY, beginning at X0, Y0 from there,
// with the radii R0 and R1 at its ends, all in mm, and over the angle Sweep.
type Turn struct {
	CX, CY, X0, Y0, R0, R1, Sweep float64
}

// Set makes m an arc of this shape; its ends are the caller's.
func (a *Turn) Set(m *Move) {
	m.Kind = Arc
	m.CX, m.CY, m.R0, m.R1, m.Sweep = a.CX, a.CY, a.R0, a.R1, a.Sweep
	m.A0 = math.Atan2(a.Y0, a.X0)
	m.Length = a.Length()
}

// Length is that of an arc whose radius changes evenly, in mm. The two radii are
// within the tolerance, where this is exact to its square.
func (a *Turn) Length() float64 {
	across, along := a.Sweep*(a.R0+a.R1)/2, a.R1-a.R0
	return math.Sqrt(across*across + along*along)
}

// turn gives an angle the sign of the motion, 2 or 3. Twice it is nothing.
func turn(motion int8, angle float64) float64 {
	if motion == 2 {
		return -angle
	}
	return angle
}

// sweep returns the signed angle from one direction to another, more than
// none and at most a full turn. Its sign does not suffer from rounding: an
// arc of the smallest step does not become a full circle, nor the reverse.
// Two ends on one ray, apart within the tolerance of the radii, are a full
// turn.
func sweep(motion int8, x0, y0, x1, y1 float64) float64 {
	angle := math.Atan2(turn(motion, cross(x0, y0, x1, y1)), x0*x1+y0*y1)
	if angle <= 0 {
		angle += 2 * math.Pi
	}
	return turn(motion, angle)
}

// cross returns x0*y1 - y0*x1 with a relative error of 2 units in the last
// place (W. Kahan's use of the fused product; C.-P. Jeannerod, N. Louvet and
// J.-M. Muller, Mathematics of Computation 82 (2013) 2245, from memory).
func cross(x0, y0, x1, y1 float64) float64 {
	p := y0 * x1
	e := math.FMA(-y0, x1, p)
	return math.FMA(x0, y1, -p) + e
}

// radiusArc fills an arc given by its radius: the shorter of the two that
// there are, or the longer where R is negative.
func (ip *Interpreter) radiusArc(l *line, m *Move, x, y coord) error {
	dx, dy := x.sub(ip.at[0]).mm(), y.sub(ip.at[1]).mm()
	if x == ip.at[0] && y == ip.at[1] {
		return l.b.Malformed(l.word(l.R).Start, "an R arc that ends where it starts", "write a full circle with I and J")
	}
	radius := ip.scale().length(l.word(l.R).Num).mm()
	long := radius < 0
	radius = math.Abs(radius)
	chord := math.Hypot(dx, dy)
	half := chord / 2
	if radius == 0 || half-radius > ip.radiiDiffer() {
		return l.b.Malformed(l.word(l.R).Start, "an R arc that cannot exist: its ends are "+
			strconv.FormatFloat(chord, 'g', 6, 64)+" mm apart, more than twice its radius", "")
	}
	// Half a turn whose radius was rounded down is still half a turn.
	radius = math.Max(radius, half)
	h := math.Sqrt((radius - half) * (radius + half))
	angle := 2 * math.Asin(half/radius)
	if long {
		h, angle = -h, 2*math.Pi-angle
	}
	// Left of the chord is the centre of the shorter arc when it runs
	// counter-clockwise.
	h = turn(ip.st.Motion, h)
	ox, oy := dx/2-h*dy/chord, dy/2+h*dx/chord
	a := Turn{CX: m.From.X + ox, CY: m.From.Y + oy, X0: -ox, Y0: -oy, R0: radius, R1: radius, Sweep: turn(ip.st.Motion, angle)}
	a.Set(m)
	return nil
}
