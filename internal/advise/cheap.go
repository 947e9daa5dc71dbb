package advise

import (
	"fmt"
	"math"

	"sagitta/internal/bench"
)

// Cheap is something that would cost less than the recommended way, or make
// it better.
type Cheap struct {
	// Kind is "focus", "press", "rows" or "rate".
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
		bow := downTwoDigits(x.Checking.Near + x.Checking.Far)
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
			add("rate", i, x.Enough, "a Z rate of %g mm/min %s with lens %s (the bench has %.4g)", x.Enough, how, a.Answers[i].Name, g.opt.Follow.ZRate*60)
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
