package verify

import (
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/verify/extremes"
)

const (
	// loopEndsMM is how near to where it began a burn ends that has cut a piece free, a
	// cut being at least as wide (common practice, no source), loopAreaMM2 the least
	// area of a piece that is in anybody's way, and thinMM how wide it is at least for
	// each mm of the cut: less is the rounding of a way to and fro.
	loopEndsMM, loopAreaMM2, thinMM = 0.1, 0.1, 0.002
)

// loop is the unbroken burn under way, as far as it may enclose a piece. What is swept
// counts from where it began.
type loop struct {
	on, shut      bool // shut: it has come back to where it began
	start         machine.Point
	twice, length float64
	lo, hi        [2]float64
}

// left reports whether the burn before a move has cut a piece free that the move leads
// away from, and between which corners it lies; what comes then is another burn.
func (l *loop) left(m *machine.Move, burn bool) (lo, hi [2]float64, free bool) {
	lo, hi = l.lo, l.hi
	if free = l.shut && !(burn && l.apart(m.To) <= loopEndsMM); free || !burn && m.Length > 0 {
		*l = loop{}
	}
	return lo, hi, free
}

// take takes a burn; edge is how far its points may be off.
func (l *loop) take(m *machine.Move, edge float64) {
	if !l.on {
		at := [2]float64{m.From.X, m.From.Y}
		*l = loop{on: true, start: m.From, lo: at, hi: at}
	}
	l.sweep(m)
	// The rounding of points that were cut in must not shut what was open.
	area := math.Abs(l.twice) / 2
	l.shut = l.shut || l.apart(m.To) <= loopEndsMM-2*edge && area >= max(loopAreaMM2, thinMM*l.length)+edge*l.length
}

// standing is a piece that stands up by so many mm over the highest of a field between two
// corners.
func standing(f *extremes.Field, lo, hi [2]float64, up float64) surface.Box {
	across := machine.Move{Kind: machine.Line, From: machine.Point{X: lo[0], Y: lo[1]}, To: machine.Point{X: hi[0], Y: hi[1]}}
	// What is found is no more than so much over a height that is there.
	top := extremes.NewOverhead(f, 0, nil).Over(&across) - extremes.TipGapMM
	return surface.Box{X0: lo[0], Y0: lo[1], X1: hi[0], Y1: hi[1], Height: top + up}
}

// Pieces finds what a program cuts free, in mm over the datum of a surface over which each
// piece stands up by so many mm. Errors are those of a program that cannot be read.
func Pieces(r io.Reader, name string, cfg machine.Config, on *surface.Placed, up float64) (all []surface.Box, err error) {
	st, f := NewStream(r, name, cfg, false), extremes.New(on)
	var l loop
	for {
		var s Step
		if err := st.Next(&s); err != nil {
			return nil, err
		}
		m, burn := &s.M, s.M.Burn
		if s.Kind == AtEnd {
			m, burn = &machine.Move{Length: 1}, false // it leads away from all
		} else if s.Kind != Motion {
			continue
		}
		if lo, hi, free := l.left(m, burn); free {
			all = append(all, standing(f, lo, hi, up))
		}
		if s.Kind == AtEnd {
			return all, nil
		}
		if burn {
			l.take(m, 0)
		}
	}
}

func (l *loop) apart(p machine.Point) float64 { return math.Hypot(p.X-l.start.X, p.Y-l.start.Y) }

// to is twice the area that a line sweeps, seen from where the burn began.
func (l *loop) to(a, b machine.Point) float64 {
	return (a.X-l.start.X)*(b.Y-l.start.Y) - (b.X-l.start.X)*(a.Y-l.start.Y)
}

// sweep takes a move into what is swept, and how far it reaches.
func (l *loop) sweep(m *machine.Move) {
	l.length += m.Length
	l.twice += l.to(m.From, m.To)
	l.reach([2]float64{m.To.X, m.To.Y})
	if m.Kind != machine.Arc {
		return
	}
	r := max(m.R0, m.R1)
	l.twice += m.R0 * m.R1 * (m.Sweep - math.Sin(m.Sweep))
	for k, side := range [4][2]float64{{r, 0}, {0, r}, {-r, 0}, {0, -r}} {
		turn := math.Remainder(float64(k)*math.Pi/2-m.A0, 2*math.Pi)
		if m.Sweep*turn < 0 {
			turn += math.Copysign(2*math.Pi, m.Sweep)
		}
		if math.Abs(turn) <= math.Abs(m.Sweep) {
			l.reach([2]float64{m.CX + side[0], m.CY + side[1]})
		}
	}
}

func (l *loop) reach(p [2]float64) {
	for k, v := range p {
		l.lo[k], l.hi[k] = min(l.lo[k], v), max(l.hi[k], v)
	}
}
