package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

const (
	// feedSlack is how far XY speed may be off before F is compensated.
	feedSlack = 0.005
	// feedDigits is how many significant digits a computed F has: its
	// rounding, always down, is small against feedSlack.
	feedDigits = 5
)

// link is a straight part of the correction: the part ds of the move, over
// which the offset of Z changes by doff mm. Of a cut move ds counts between
// the points as written: rounded, short pieces differ by more than F may.
type link struct{ ds, doff float64 }

// setFeed adds the F that the link needs, and puts the programmed F back
// where the link needs none of its own. For an added piece, piece is not nil
// and tells whether it is the first.
func (w *writer) setFeed(h *held, l link, piece *bool) {
	m := &h.mv
	seconds := m.Seconds * l.ds
	dz := (m.To.Z-m.From.Z)*l.ds + l.doff
	length := m.Length * l.ds
	wd, has := h.block.Find('F')
	if m.Rapid || m.Kind == machine.Still {
		w.took = w.rapidSeconds(seconds, dz)
		w.sum.link(h, length, dz, w.took, l.doff != 0)
		if piece != nil && *piece && has {
			w.ch = append(w.ch, program.Change{Letter: 'F', Num: wd.Num})
		}
		if has {
			w.outF = wd.Num
		}
		return
	}
	want, took := w.feed(h, l, seconds, length, dz)
	w.took = took
	w.sum.link(h, length, dz, took, l.doff != 0)
	inBlock := has && (piece == nil)
	switch {
	case inBlock && want.Cmp(wd.Num) != 0, !inBlock && want.Cmp(w.outF) != 0, h.during.InverseTime && piece != nil:
		w.ch = append(w.ch, program.Change{Letter: 'F', Num: want})
	}
	w.outF = want
}

// rapidSeconds is the time of a travel: Z may take longer than XY.
func (w *writer) rapidSeconds(seconds, dz float64) float64 {
	if w.opt.ZRate > 0 {
		return max(seconds, math.Abs(dz)/w.opt.ZRate)
	}
	return seconds
}

// feed gives the F word for a link, and how long it takes with it in s.
func (w *writer) feed(h *held, l link, seconds, length, dz float64) (program.Number, float64) {
	m, o := &h.mv, w.opt
	if h.during.InverseTime {
		return w.inverseFeed(h, l, seconds, dz)
	}
	if l.doff == 0 || length == 0 || m.FromUnknown || m.ZUnknown {
		return w.progF, seconds
	}
	slower := o.ZRate > 0 && math.Abs(dz) > o.ZRate*seconds+w.step(h.during.Inches)
	took := seconds
	if slower {
		took = math.Abs(dz) / o.ZRate
		w.checkSlowing(h, seconds, took)
	}
	path := length
	if o.Machine.FeedCountsZ && o.Machine.ZAxis == 'Z' {
		path = math.Hypot(length, dz)
	}
	if slower && m.Kind == machine.Arc && l.ds != 1 {
		// Its ends and its centre are rounded: on a way shorter by two
		// decimals Z must keep its rate, to within the one of its own.
		dec := o.Decimal(h.during.Inches)
		path = max(path/2, path-max(0, 2*dec-dec*length/math.Abs(dz)))
	}
	want := path / took * 60 // mm/min
	capped := o.FeedMax > 0 && want > o.FeedMax && want > m.Feed
	if capped {
		want = max(o.FeedMax, min(m.Feed, want))
		took = path / want * 60
	}
	w.slowed(m, seconds, took)
	if !slower && math.Abs(want/m.Feed-1) <= feedSlack {
		return w.progF, path / m.Feed * 60
	}
	if want < m.Feed {
		w.sum.Lowered++
	} else {
		w.sum.Raised++
	}
	return roundDown(want / unitOf(&h.during)), took
}

// slowed counts a burn that takes longer than programmed.
func (w *writer) slowed(m *machine.Move, seconds, took float64) {
	if m.Burn && took > seconds*(1+feedSlack) {
		w.sum.Slowed++
	}
}

// checkSlowing holds a burn that takes longer to what is allowed. The plan
// has seen to that, except where less was looked ahead at than it needs.
func (w *writer) checkSlowing(h *held, seconds, took float64) {
	if !h.mv.Burn || w.opt.maySlow(&h.mv) && took <= seconds/w.opt.Slowest*(1+feedSlack) {
		return
	}
	w.fails.add(Failure{Line: h.block.Line, X: h.mv.From.X, Y: h.mv.From.Y, Kind: TooSteep,
		Amount: w.opt.ZRate * took / seconds * 60})
}

// inverseFeed gives F in 1/min of a link in G93.
func (w *writer) inverseFeed(h *held, l link, seconds, dz float64) (program.Number, float64) {
	wd, _ := h.block.Find('F')
	o := w.opt
	if known := !h.mv.FromUnknown && !h.mv.ZUnknown; known && o.ZRate > 0 && l.doff != 0 && math.Abs(dz) > o.ZRate*seconds+w.step(h.during.Inches) {
		w.sum.Lowered++
		took := math.Abs(dz) / o.ZRate
		w.slowed(&h.mv, seconds, took)
		w.checkSlowing(h, seconds, took)
		return roundDown(60 / took), took
	}
	if l.ds == 1 && wd != nil {
		return wd.Num, seconds
	}
	return roundDown(60 / seconds), seconds
}

// roundDown keeps the leading digits of a feed.
func roundDown(f float64) program.Number {
	dec := 0
	for x := f; x < math.Pow10(feedDigits-1) && dec < 9; x *= 10 {
		dec++
	}
	// A hair is added so that what is exact in decimals stays.
	return program.Round(math.Floor(f*math.Pow10(dec)*(1+rounding))/math.Pow10(dec), int8(dec)).Trim()
}

// restoreFeed writes a block that puts the programmed F back.
func (w *writer) restoreFeed(like *program.Block) {
	w.add(like, []program.Change{{Letter: 'F', Num: w.progF}})
	w.outF = w.progF
}
