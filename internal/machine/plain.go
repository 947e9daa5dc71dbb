package machine

import (
	"math"

	"sagitta/internal/program"
)

// PlainMove is the move of a plain line: at the feed in force, Z unchanged, and
// longer than nothing.
type PlainMove struct {
	// D is how far along the path its end is, X and Y are that end, in mm.
	D, X, Y float64
	// End, Axis and Style are the line's, see program.PlainLine.
	End   int32
	Axis  uint8
	Style program.PlainStyle
	// Burn reports a move with the beam on.
	Burn bool
	// Motion is 1 for a straight move, 2 and 3 for an arc.
	Motion int8
}

// plain reports whether the modes are such that plain lines can be taken in
// short: G1 to G3 in G94 and G91.1 at a known place, with the beam on or off.
func (ip *Interpreter) plain() bool {
	return ip.st.Motion >= 1 && ip.st.Arcs == RelativeArcs && !ip.st.InverseTime && ip.st.FeedSaid && ip.st.Feed.Mant > 0 && ip.st.FeedInches == ip.st.Inches &&
		ip.moved && ip.workLapsed == 0 && ip.known() && ip.offset[0].r == 0 && ip.offset[1].r == 0 && ip.offsetLost == [3]int{} &&
		ip.placed && ip.x.r == 0 && ip.y.r == 0 && ip.st.beam() != Unsaid
}

// FeedMM returns the F in force in mm/min (of G94), and whether power follows
// the speed.
func (ip *Interpreter) FeedMM() (feed float64, follows bool) {
	feed = ip.st.Feed.Float()
	if ip.st.Inches {
		feed *= mmPerInch
	}
	return feed, ip.st.BeamFollows
}

// plainArc gives the arc of a plain line that ends at x, y. It reports false
// where the line is for Step.
func (ip *Interpreter) plainArc(l *program.PlainLine, s *scale, motion int8, x, y int64) (a Turn, ok bool) {
	if l.Has&plainCentre == 0 {
		return a, false
	}
	var i, j coord
	fits := true
	if l.Has&program.PlainI != 0 {
		n := l.Num(program.PlainI)
		i.q, fits = s.units(n.Mant, n.Dec)
	}
	if fits && l.Has&program.PlainJ != 0 {
		n := l.Num(program.PlainJ)
		j.q, fits = s.units(n.Mant, n.Dec)
	}
	if !fits {
		return a, false
	}
	a, ok = ip.turnAround(motion, coord{q: x}, coord{q: y}, i, j)
	return a, ok && math.Abs(a.R1-a.R0) <= ip.radiiDiffer() && !far(a.CX, a.CY)
}
