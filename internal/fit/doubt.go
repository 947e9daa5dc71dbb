package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Doubt is something about measured heights that a person should look at: nothing is
// mended unasked.
type Doubt struct {
	// What says what is doubted and why, Mend what would settle or mend it; sentences
	// without an end.
	What, Mend string
	// Places are where it is, the most doubted first: to be touched again. A line of 0 is
	// of a place that was not touched.
	Places []surface.Point
}

// doubt says what a person should look at.
func (m *Measured) doubt() {
	m.doubtRounds()
	m.doubtSteps()
	m.doubtAlone()
	m.doubtKept()
	if s := m.Repeats.Sinking; s != nil {
		m.Doubts = append(m.Doubts, Doubt{
			What: fmt.Sprintf("%s touched again were found lower, by %s mm on average: the stock gives way under the probe, or the zero moved",
				phrase.Count(len(s.Places), "place"), phrase.MM(s.MM)),
			Mend:   "hold it up from below, press less, and touch the datum first and last",
			Places: s.Places,
		})
	}
}

// doubtSteps names groups of touches that bear each other out against all around.
func (m *Measured) doubtSteps() {
	steps := slices.Clone(m.Steps)
	slices.SortStableFunc(steps, func(a, b sift.Step) int { return cmp.Compare(math.Abs(b.HeightMM), math.Abs(a.HeightMM)) })
	for _, s := range steps {
		if len(s.Points) == 0 {
			continue
		}
		p := s.Points[0]
		if s.Between {
			m.Doubts = append(m.Doubts, Doubt{
				What: fmt.Sprintf("heights jump by %s mm between touches side by side, in %s from %s on: this may be a step",
					phrase.Signed(s.HeightMM, 3), phrase.Count(s.Count, "place"), phrase.XY(p.X, p.Y)),
				Mend:   fmt.Sprintf("touch closer along the edge, where the surface may be off by up to %s mm", phrase.MM(math.Abs(s.HeightMM)/2)),
				Places: s.Points,
			})
			continue
		}
		side := "above"
		if s.HeightMM < 0 {
			side = "below"
		}
		m.Doubts = append(m.Doubts, Doubt{
			What: fmt.Sprintf("%s at %s lie %s mm %s what is around, and bear each other out: this may be a step, so they stay",
				phrase.Count(s.Count, "touch"), phrase.XY(p.X, p.Y), phrase.MM(math.Abs(s.HeightMM)), side),
			Mend:   fmt.Sprintf("touch them again, and closer along the edge, where the surface may be off by up to %s mm", phrase.MM(math.Abs(s.HeightMM)/2)),
			Places: s.Points,
		})
	}
}

// doubtAlone names touches that were left out: one alone may be a dent.
func (m *Measured) doubtAlone() {
	var places []surface.Point
	for _, b := range m.LeftOut {
		if !b.Stray {
			places = append(places, b.Point)
		}
	}
	if len(places) == 0 {
		return
	}
	m.Doubts = append(m.Doubts, Doubt{
		What:   fmt.Sprintf("%s left out for being off alone: a slip, or a place narrower than the touches are apart", phrase.Count(len(places), "touch")),
		Mend:   "touch there again, and a little beside it",
		Places: places,
	})
}

// doubtKept names touches that are off, but were kept.
func (m *Measured) doubtKept() {
	alike, far := layout.Part(m.Doubted, func(k int) bool { return m.foundAlike(m.Doubted[k]) })
	say := func(of []LeftOut, what, kept, mend string) {
		if len(of) == 0 {
			return
		}
		slices.SortStableFunc(of, func(a, b LeftOut) int { return cmp.Compare(math.Abs(b.OffMM), math.Abs(a.OffMM)) })
		var places []surface.Point
		for _, b := range of {
			places = append(places, b.Point)
		}
		m.Doubts = append(m.Doubts, Doubt{
			What: fmt.Sprintf("%s off what is around, by up to %s mm at %s, %s; kept",
				phrase.Count(len(of), what), phrase.Signed(of[0].OffMM, 3), phrase.XY(of[0].X, of[0].Y), kept),
			Mend:   mend,
			Places: places,
		})
	}
	say(far, "touch", "but not so far that a bend or a rim could not be", "touch there again")
	say(alike, "place", "but found so again: narrower than the touches are apart", "touch a little beside it")
}

// doubtForm says where a form that was asked for leaves out what touches say.
func (m *Measured) doubtForm() {
	if why := unborneForm(m.Points, m.Choice.Name); why != "" {
		m.Doubts = append(m.Doubts, Doubt{
			What: fmt.Sprintf("the %s that was asked for does not bear the touches: %s", m.Choice.Name, why),
			Mend: "leave the choice of the form to auto, or touch there again",
		})
	}
}
