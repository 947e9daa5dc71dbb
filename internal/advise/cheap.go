package advise

import (
	"fmt"
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Cheap is something that would cost less than the recommended way, or make
// it better.
type Cheap struct {
	// Kind is "focus", "press", "rows", "rate" or "feed".
	Kind string
	// Lens is the lens's place in Answers, MM or MMMin the figure.
	Lens  int
	Value float64
	What  string
}

// cheap gathers the cheap answers: none are needed where the job runs flat
// with the focus at the datum.
func (g *adviser) cheap() {
	a := g.a
	add := func(kind string, lens int, v float64, format string, args ...any) {
		a.Cheap = append(a.Cheap, Cheap{kind, lens, v, fmt.Sprintf(format, args...)})
	}
	if a.Verdict == Flat {
		x := &a.Answers[a.Lenses[0]]
		if !x.Flat.AtDatum {
			add("focus", a.Lenses[0], x.Flat.Focus, "one better focus does it: %+.2f mm over the datum instead of at it", x.Flat.Focus)
		}
		return
	}
	for i := range a.Answers {
		x := &a.Answers[i]
		if x.Out != "" || x.Flat.OK {
			continue
		}
		// Pressing brings the heights together; what is left of them must
		// fit the depth.
		bow := downTwoDigits(x.flatWidth(a.Job))
		if x.Flat.Over > 0 && bow > 0 {
			add("press", i, bow, "press the stock down: where the burns see no more than %.3g mm of heights (now %.3g), it runs flat with lens %s",
				bow, a.Job.Range(), x.Name)
		}
	}
	g.rows(add)
	for i := range a.Answers {
		if x := a.Answers[i].Follow; x != nil && x.Enough > 0 {
			how := "does not slow any burn"
			if !x.OK {
				how = "follows"
			}
			add("rate", i, x.Enough, "a Z rate of %g mm/min %s with lens %s (the bench has %s)", x.Enough, how, a.Answers[i].Name, phrase.Short(g.opt.Follow.ZRate*60))
		}
		if x := a.Answers[i].Follow; x != nil && x.EvenFeed > 0 {
			add("feed", i, x.EvenFeed, "at feeds of %g mm/min at most all burns go evenly with lens %s, none slower for what Z can do", x.EvenFeed, a.Answers[i].Name)
		}
	}
}

// rowsBetter is the part of what rows ask of Z that those along the other
// axis must stay below to be worth another raster.
const rowsBetter = 0.5

// rows looks whether rows along the other axis would be calmer.
func (g *adviser) rows(add func(string, int, float64, string, ...any)) {
	j := g.a.Job
	r := &j.Rows
	if j.detail.steps.n < fewRows || r.Length < rowShare*j.BurnLength || g.opt.Follow.ZMoves == bench.ByHand {
		return
	}
	asks := false // Z is what limits it
	for i := range g.a.Answers {
		x := &g.a.Answers[i]
		asks = asks || x.Follow != nil && (!x.Follow.OK || x.Follow.Slowed > 0 || x.Follow.Reversals > 0)
	}
	if !asks {
		return
	}
	if g.opt.Follow.ZMoves == bench.BeamOff {
		if r.Across = j.deepAcross(g.opt.Follow.Surface); r.Across < rowsBetter*r.Deep {
			add("rows", -1, r.Across, "rows along %c instead of %c: within a row the heights would differ by about %.2g mm instead of %.2g",
				r.other(), r.Axis, r.Across, r.Deep)
		}
		return
	}
	if r.RateAcross < rowsBetter*r.Rate {
		add("rows", -1, r.RateAcross, "rows along %c instead of %c: along them the heights change by about %.0f mm/min at most instead of %.0f",
			r.other(), r.Axis, r.RateAcross, r.Rate)
	}
}

// upTwoDigits rounds a positive number up to two digits, downTwoDigits down
// to hundredths.
func upTwoDigits(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(v))-1)
	return math.Ceil(v/p) * p
}

func downTwoDigits(v float64) float64 { return math.Floor(v*100) / 100 }

// Rows is what a raster's rows ask of Z, and what rows along the other axis
// would.
type Rows struct {
	// Axis is the one that most rows run along, 'X' or 'Y', and Length how
	// long they are in mm.
	Axis   byte
	Length float64
	// Deep is the greatest difference of heights within a row, in mm, and
	// Across what it would be along the other axis.
	Deep, Across float64
	// Rate is the greatest change of the height along a row in mm/min, at
	// the programmed feed, and RateAcross what it would be along the other
	// axis: the greatest there, as sampled at the ends of stretches.
	Rate, RateAcross float64
}

// rowsSeen gathers rows, by axis.
type rowsSeen struct {
	along [2]Rows // X and Y
	// The row under way: its axis, 0 for none, and the heights within it.
	axis      byte
	ahead     bool
	low, high float64
}

// row takes a move over pieces, which sees heights from low to high.
func (r *rowsSeen) row(m *machine.Move, pieces []surface.Piece, low, high float64, p *surface.Placed) {
	axis, ahead := direction(m)
	if !m.Burn {
		axis = 0
	}
	if axis == r.axis && ahead == r.ahead {
		low, high = min(low, r.low), max(high, r.high)
	}
	r.axis, r.ahead, r.low, r.high = axis, ahead, low, high
	if axis == 0 {
		return
	}
	to := &r.along[axis-'X']
	to.Length += m.Length
	to.Deep = max(to.Deep, high-low)
	for k := range pieces {
		pc := &pieces[k]
		if d := (pc.S1 - pc.S0) * m.Length; d > 0 {
			to.Rate = max(to.Rate, math.Abs(pc.H1-pc.H0)/d*m.Feed)
		}
		xy := m.XY((pc.S0 + pc.S1) / 2)
		slopeX, slopeY := p.Grad(xy[0], xy[1])
		across := slopeX
		if axis == 'X' {
			across = slopeY
		}
		to.RateAcross = max(to.RateAcross, math.Abs(across)*m.Feed)
	}
}

// most gives the rows of the axis that has most.
func (r *rowsSeen) most() Rows {
	r.along[0].Axis, r.along[1].Axis = 'X', 'Y'
	if r.along[0].Length >= r.along[1].Length {
		return r.along[0]
	}
	return r.along[1]
}

// other is the axis across the rows.
func (r *Rows) other() byte { return 'X' + 'Y' - r.Axis }

const (
	// rowShare is the part of the burned length that must be rows along one
	// axis for the job to count as a raster.
	rowShare = 0.8
	// acrossLines and acrossSteps are at how many places heights are looked
	// up along rows that are not in the program.
	acrossLines, acrossSteps = 41, 101
)

// deepAcross looks up the greatest difference of heights within rows along
// the other axis, over the extent of the burns.
func (j *Metrics) deepAcross(p *surface.Placed) float64 {
	deep, box := 0.0, j.detail.burned
	for i := range acrossLines {
		low, high := math.Inf(1), math.Inf(-1)
		for k := range acrossSteps {
			u, v := float64(i)/(acrossLines-1), float64(k)/(acrossSteps-1)
			if j.Rows.Axis == 'Y' {
				u, v = v, u
			}
			h, where := p.At(box.Min[0]+(box.Max[0]-box.Min[0])*u, box.Min[1]+(box.Max[1]-box.Min[1])*v)
			if where == surface.On {
				low, high = min(low, h), max(high, h)
			}
		}
		deep = max(deep, high-low)
	}
	return deep
}
