package verify

import (
	"math"

	"sagitta/internal/machine"
)

// Match is how a move lies on a part of an original move.
type Match struct {
	// To is the fraction of the original's length at which the move ends.
	To float64
	// Off is the greatest distance in mm of any point of the move from the
	// original's path, going backwards along it included.
	Off float64
	// short is the distance in mm of the move's end from the original's.
	short float64
}

// Ends reports whether the match reaches the end of the original o.
func (p Match) Ends(o *Step, tol float64) bool {
	return p.short <= tol && (1-p.To)*o.M.Length <= tol
}

// MatchOf lays m on o from the fraction from of o on. It compares paths, not
// places in time.
func MatchOf(m, o *machine.Move, from float64) Match {
	p := Match{short: math.Hypot(m.To.X-o.To.X, m.To.Y-o.To.Y)}
	if m.FromUnknown || o.FromUnknown {
		// Only where it ends can be compared.
		p.To, p.Off = 1, p.short
		if m.FromUnknown != o.FromUnknown || from > 0 || m.Lost != o.Lost || m.Home != o.Home {
			p.Off = math.Inf(1)
		}
		return p
	}
	if o.Length == 0 {
		// It fixes an axis where it stands.
		p.To, p.Off = 1, max(p.short, m.Length)
		return p
	}
	near, bulge := from, 0.0
	switch {
	case m.Kind != machine.Arc:
	case o.Kind == machine.Arc:
		near += m.Sweep / o.Sweep // how often it goes round, its own sweep tells
	default:
		bulge = sagitta(m)
	}
	p.To = Fraction(o, m.To, near)
	back := max(0, from-p.To) * o.Length
	p.To = min(max(p.To, from), 1)
	a, b := o.XY(from), o.XY(p.To)
	ends := max(math.Hypot(m.From.X-a[0], m.From.Y-a[1]), math.Hypot(m.To.X-b[0], m.To.Y-b[1]))
	p.Off = max(ends+bulge, back)
	if o.Kind == machine.Arc {
		p.Off = max(p.Off, offArc(m, o, from, p.To))
	}
	return p
}

// sagitta is the greatest distance of an arc from its chord, or its diameter
// from half a turn on.
func sagitta(m *machine.Move) float64 {
	r := max(m.R0, m.R1)
	if math.Abs(m.Sweep) >= math.Pi {
		return 2 * r
	}
	return r * (1 - math.Cos(m.Sweep/2))
}

// Fraction is that of o at which a place beside it lies; of an arc the one nearest
// to near, as the place is passed once in each turn.
func Fraction(o *machine.Move, at machine.Point, near float64) float64 {
	if o.Kind == machine.Arc {
		angle := math.Atan2(at.Y-o.CY, at.X-o.CX) - o.A0 - o.Sweep*near
		return near + math.Remainder(angle, 2*math.Pi)/o.Sweep
	}
	dx, dy := o.To.X-o.From.X, o.To.Y-o.From.Y
	return ((at.X-o.From.X)*dx + (at.Y-o.From.Y)*dy) / (o.Length * o.Length)
}

// offArc is the greatest distance of m from the circle that the arc o is on.
// Seen from o's centre the distance to a point of m, itself on a circle or a
// line, has its extremes at the ends of m and where m passes the line through
// both centres, or the foot of the perpendicular.
func offArc(m, o *machine.Move, from, to float64) float64 {
	worst := 0.0
	look := func(s float64) {
		at := m.XY(s)
		u := from + (to-from)*s
		r := o.R0 + (o.R1-o.R0)*u
		worst = max(worst, math.Abs(math.Hypot(at[0]-o.CX, at[1]-o.CY)-r))
	}
	look(0)
	look(1)
	if m.Kind != machine.Arc {
		dx, dy := m.To.X-m.From.X, m.To.Y-m.From.Y
		if d := dx*dx + dy*dy; d > 0 {
			s := ((o.CX-m.From.X)*dx + (o.CY-m.From.Y)*dy) / d
			look(min(max(s, 0), 1))
		}
		return worst
	}
	ex, ey := m.CX-o.CX, m.CY-o.CY
	if ex == 0 && ey == 0 {
		look(0.5)
		return worst
	}
	axis := math.Atan2(ey, ex)
	for _, a := range [2]float64{axis, axis + math.Pi} {
		turn := math.Mod((a-m.A0)*math.Copysign(1, m.Sweep), 2*math.Pi)
		if turn < 0 {
			turn += 2 * math.Pi
		}
		look(min(turn/math.Abs(m.Sweep), 1))
	}
	return worst
}
