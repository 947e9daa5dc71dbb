package zone

import (
	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
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

// Where burns are of kinds, heights under a burn count as moved by what is wanted of its
// defocus beyond the job's, and the lens as good for the least depth of any kind: then a
// setting that serves a height serves it whatever burns there, and settings are found, and
// burns cut, as for one kind. So a kind that may spend more is cut as finely as the others.

// least has the lens count as good for the least depth of any kind of burn.
func (o *Options) least() {
	if len(o.Kinds) == 0 {
		return
	}
	l := &o.Lenses[0]
	o.passes = focus.Lowest(focus.Aim{Depth: l.Depth, Defocus: o.Defocus}, o.Kinds)
	for _, a := range o.Kinds {
		l.Depth.Near, l.Depth.Far = min(l.Depth.Near, a.Near), min(l.Depth.Far, a.Far)
	}
}

// over is how far over a height a lens stays on travels by the depth alone.
func (o *Options) over(l *Lens) float64 {
	if len(o.Kinds) > 0 {
		return o.passes.Defocus - o.passes.Near
	}
	return o.Defocus - l.Depth.Near
}

// moved is by how much heights under burns of a kind count as moved.
func (o *Options) moved(kind int) float64 {
	if kind == 0 {
		return 0
	}
	return o.Kinds[kind-1].Defocus - o.Defocus
}

// counted are heights as they count for a kind.
func (o *Options) counted(h cover.Span, kind int) cover.Span {
	by := o.moved(kind)
	return cover.Span{Lo: h.Lo + by, Hi: h.Hi + by}
}

// move has pieces of a burn of a kind count as they do.
func (o *Options) move(pieces []surface.Piece, kind int) {
	if by := o.moved(kind); by != 0 {
		for k := range pieces {
			pieces[k].H0, pieces[k].H1 = pieces[k].H0+by, pieces[k].H1+by
		}
	}
}

// serves are the heights that a setting serves; where burns are of kinds those of the job
// of which it serves some for any.
func (s *surveyor) serves(at float64, l *Lens) cover.Span {
	o := s.opt
	h := cover.Span{Lo: at - o.Defocus - l.Depth.Far, Hi: at - o.Defocus + l.Depth.Near}
	if len(o.Kinds) == 0 {
		return h
	}
	for _, a := range o.Kinds {
		h = both(h, cover.Span{Lo: at - a.Defocus - l.Depth.Far, Hi: at - a.Defocus + l.Depth.Near})
	}
	if lo, hi := max(h.Lo, s.Low), min(h.Hi, s.High); lo <= hi {
		return cover.Span{Lo: lo, Hi: hi}
	}
	return h
}
