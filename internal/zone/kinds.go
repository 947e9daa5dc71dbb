package zone

import (
	"math"
	"slices"

	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/stream"
)

// kinds says which burns cut, by the rules that there are.
type kinds struct {
	cuts func(line, tool int, feed, power float64) bool
	tool int         // the number of the tool word in force, -1 before the first
	line stream.Item // a line of a run
}

// pass notes the tool words of an item. None stands between burns of a job that is
// divided.
func (k *kinds) pass(it *stream.Item) {
	if k.cuts == nil || it.IsRun() {
		return
	}
	for i := range it.Block.Words {
		if w := &it.Block.Words[i]; w.Letter == 'T' {
			k.tool = int(w.Num.Float())
		}
	}
}

// cut reports whether a burn cuts, or any of a run of them.
func (k *kinds) cut(it *stream.Item) bool {
	if k.cuts == nil {
		return false
	}
	if !it.IsRun() {
		return k.cutLine(it)
	}
	for i, l := range it.Lines() {
		if l.Burn {
			if it.LineItem(i, &k.line); k.cutLine(&k.line) {
				return true
			}
		}
	}
	return false
}

func (k *kinds) cutLine(it *stream.Item) bool {
	m := &it.Move
	feed := m.Feed
	if it.During.InverseTime && m.Seconds > 0 {
		feed = m.Length / m.Seconds * 60
	}
	return k.cuts(it.Block.Line, k.tool, feed, m.Power)
}

// Where burns are of kinds, a setting serves heights for each of them by itself: as many bands
// of heights as there are kinds move up and down with it. Settings are looked for as for one
// kind first, which cuts the fewest burns: heights under a burn count as moved by what is
// wanted of its defocus beyond the job's, and the lens as good for the least depth of any kind.
// Where fewer do for kinds by themselves, it is those.

// aim is what burns of a kind ask for with the lens.
func (l *Lens) aim(kind int, defocus float64) focus.Aim {
	if kind == 0 {
		return focus.Aim{Depth: l.Depth, Defocus: defocus}
	}
	return l.Kinds[kind-1]
}

// least is the width of the narrowest band that a setting of the lens serves.
func (l *Lens) least() float64 {
	w := l.Width()
	for _, a := range l.Kinds {
		w = min(w, a.Near+a.Far)
	}
	return w
}

// alike is the lens as good for the least depth of any kind.
func (l *Lens) alike() Lens {
	all := *l
	for _, a := range l.Kinds {
		all.Depth.Near, all.Depth.Far = min(all.Depth.Near, a.Near), min(all.Depth.Far, a.Far)
	}
	return all
}

// counted are heights under a burn of a kind as they count then.
func (o *Options) counted(h cover.Span, l *Lens, kind int) cover.Span {
	by := l.aim(kind, o.Defocus).Defocus - o.Defocus
	return cover.Span{Lo: h.Lo + by, Hi: h.Hi + by}
}

// spans are the heights that lens k is asked for, as they count then.
func (s *surveyor) spans(k int) []cover.Span {
	own := &s.shares[k]
	if len(own.heights) == 1 {
		return own.heights[0].Spans()
	}
	var all cover.Heights
	for kind := range own.heights {
		for _, h := range own.heights[kind].Spans() {
			all.Add(s.opt.counted(h, &s.opt.Lenses[k], kind))
		}
	}
	return all.Spans()
}

// over is how far over a height a lens stays on travels by the depth alone.
func (l *Lens) over() float64 { return l.passes.Defocus - l.passes.Near }

// band are the heights that a setting of the lens serves for burns of a kind.
func (o *Options) band(l *Lens, kind int, at float64) cover.Span {
	a := l.aim(kind, o.Defocus)
	return cover.Span{Lo: at - a.Defocus - a.Far, Hi: at - a.Defocus + a.Near}
}

// serves are the heights that a setting serves; where burns are of kinds those of the job
// of which it serves some for any.
func (s *surveyor) serves(at float64, l *Lens) cover.Span {
	h := s.opt.band(l, 0, at)
	if len(l.Kinds) == 0 {
		return h
	}
	for k := range l.Kinds {
		h = both(h, s.opt.band(l, k+1, at))
	}
	if lo, hi := max(h.Lo, s.Low), min(h.Hi, s.High); lo <= hi {
		return cover.Span{Lo: lo, Hi: hi}
	}
	return h
}

// kindHeights are heights by the kind of what burns over them.
type kindHeights []cover.Span

func (o *Options) noHeights() kindHeights {
	h := make(kindHeights, 1+len(o.Lenses[0].Kinds))
	h.clear()
	return h
}

func (h kindHeights) clear() {
	for k := range h {
		h[k] = cover.Span{Lo: math.Inf(1), Hi: math.Inf(-1)}
	}
}

// lensFor gives the lens for a figure that asks for these heights: the first of which one
// setting may serve all of it, or else that which comes nearest to that.
func (o *Options) lensFor(h kindHeights) int {
	deepest, most := 0, math.Inf(-1)
	for i := range o.Lenses {
		l := &o.Lenses[i]
		low, high := math.Inf(-1), math.Inf(1)
		for k, s := range h {
			if a := l.aim(k, o.Defocus); s.Lo <= s.Hi {
				low, high = max(low, s.Hi+a.Defocus-a.Near), min(high, s.Lo+a.Defocus+a.Far)
			}
		}
		if high-low >= snug*l.least() {
			return i
		}
		if high-low > most {
			deepest, most = i, high-low
		}
	}
	return deepest
}

// demands are what settings of a lens must serve where burns are of kinds, with what is taken
// off for certainty.
func (s *surveyor) demands(k int) (list []cover.Demand, aims []focus.Aim) {
	l, own := &s.opt.Lenses[k], &s.shares[k]
	for kind := range own.heights {
		spans := own.heights[kind].Spans()
		if len(spans) == 0 {
			continue
		}
		a := l.aim(kind, s.opt.Defocus)
		less := s.slop(a.Near+a.Far) / 2
		a.Near, a.Far = a.Near-less, a.Far-less
		list = append(list, cover.Demand{Spans: spans, Low: a.Defocus - a.Near, High: a.Defocus + a.Far})
		aims = append(aims, a)
	}
	return list, aims
}

// settings are the fewest of a lens for burns of several kinds, each where it spends least
// with what its neighbours leave to it; nil where there are too many.
func (s *surveyor) settings(k int) []float64 {
	list, aims := s.demands(k)
	at := cover.FewestFor(list, MostZones)
	if len(at) > MostZones || !cover.ServeAll(at, list) {
		return nil
	}
	for i := range at {
		below, above := math.Inf(-1), math.Inf(1)
		if i > 0 {
			below = at[i-1]
		}
		if i+1 < len(at) {
			above = at[i+1]
		}
		var all []focus.Served
		for n := range list {
			if h, any := list[n].Between(below, above); any {
				all = append(all, focus.Served{Low: h.Lo + aims[n].Defocus, High: h.Hi + aims[n].Defocus, Depth: aims[n].Depth})
			}
		}
		if f := focus.Best(all); len(all) > 0 && below < f && f < above {
			at[i] = f
		}
	}
	for _, step := range [2]float64{s.opt.Turn.DivisionMM, focusStep} {
		rounded := make([]float64, len(at))
		for i, f := range at {
			rounded[i] = math.Round(f/step) * step
			rounded[i] = math.Round(rounded[i]*1e9) / 1e9
		}
		// focusStep is among what was taken off.
		if step > 0 && (step == focusStep || slices.IsSorted(rounded) && cover.ServeAll(rounded, list)) {
			return rounded
		}
	}
	return at
}
