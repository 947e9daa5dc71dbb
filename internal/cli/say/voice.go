package say

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Voice says messages.
type Voice struct{ W io.Writer }

// Line says a line.
func (v Voice) Line(format string, args ...any) {
	fmt.Fprintf(v.W, "sagitta: "+format+"\n", args...)
}

// Lines says lines as they are.
func (v Voice) Lines(lines []string) {
	for _, l := range lines {
		v.Line("%s", l)
	}
}

// listed says the first of so many failures, and how many more there are.
func (v Voice) listed(lines []string, count int) {
	v.Lines(diag.Listed(lines[:min(len(lines), mostListed)], count))
}

const (
	// mostListed is how many failures are listed: as many as fit on a screen.
	mostListed = 20
	// mostZones is how many zones are.
	mostZones = 12
)

// Assumed says what was assumed of a bench that Z is written for.
func (v Voice) Assumed(j *job.Job) {
	v.start(j)
	v.noProfile(j)
	if j.Machine.ZRateMMMin == nil && j.Machine.ZMoves != record.ZByHand {
		v.Line("assumed: nothing limits the rate of Z")
	}
}

func (v Voice) start(j *job.Job) {
	if !j.Config.StartXYKnown {
		v.Line("assumed: the head stands at Z%g; where in XY is not known before the program says", j.Config.Start.Z)
	}
}

func (v Voice) noProfile(j *job.Job) {
	if !j.Profiled {
		v.Line("assumed: no machine profile; programs in mm, +Z away from the stock, Z free to move while burning")
	}
}

// depths says of each lens what the usable depth is made of.
func (v Voice) depths(j *job.Job, p focus.Purpose) {
	for i := range j.Lenses {
		l, of := &j.Lenses[i], ""
		if len(j.Lenses) > 1 {
			of = "lens " + l.Name + ": "
		}
		v.depth(l, of, p)
	}
}

// depth says what the usable depth is made of, the terms that are not zero,
// and what they come to.
func (v Voice) depth(l *job.Lens, of string, p focus.Purpose) {
	left := l.Checking
	if p == focus.Writing {
		left = l.Writing
	}
	b := &l.Budget
	t := Table{Right: []bool{1: true}}
	t.Row("lens", phrase.SidesMM(b.Lens.Near, b.Lens.Far), b.LensFrom)
	terms := b.Table(p)
	for _, r := range terms[2 : len(terms)-2] { // the first and last two are sides
		if r.MM != 0 {
			t.Row(r.Name, fmt.Sprintf("%.4f", r.MM), r.From)
		}
	}
	usable := phrase.SidesMM(left.Near, left.Far)
	if len(t.rows) > 1 {
		t.Row("left to use", usable)
	}
	v.Line("%susable depth %s mm:", of, usable)
	for line := range strings.Lines(t.String()) {
		v.Line("  %s", strings.TrimSuffix(line, "\n"))
	}
}

const headUnchecked = "head clearance not checked"

// head says what the clearance of the head was held to, or that it was not
// checked, and what stands in for that.
func (v Voice) head(h *job.Head, instead string) {
	boxes := phrase.Count(len(h.Boxes), "box")
	if h.Known == nil {
		v.Line(headUnchecked+": it takes %s; %s", strings.Join(h.Missing, ", and "), instead)
		if h.Boxes != nil {
			v.Line("caution: the %s of --keep-out cannot be kept clear of without these fields", boxes)
		}
		return
	}
	over := ""
	if len(h.Boxes) > 0 {
		over = ", and over " + boxes
	}
	k := h.Known
	v.Line("the head's tip, %s mm over best focus, keeps %s mm over what stands within %s mm of the beam%s",
		phrase.Short(k.Standoff), phrase.Short(k.Gap), phrase.Short(k.Radius), over)
}

// nearest says how near the axis comes to the surface under the beam against
// best focus, minus nearer; most and least are for a bound, which may not come as
// near, else empty.
func nearest(e focus.Extreme, most, least string) string {
	switch {
	case math.Abs(e.MM) < 0.0005:
		return "its axis comes no nearer to the surface under the beam than at best focus"
	case e.MM > 0:
		return fmt.Sprintf("its axis stays %s%s mm further from the surface under the beam than at best focus, %s", least, phrase.MM(e.MM), place(e))
	}
	return fmt.Sprintf("its axis comes %s%s mm nearer to the surface under the beam than at best focus, %s", most, phrase.MM(-e.MM), place(e))
}

// place says where an extreme is.
func place(e focus.Extreme) string {
	return fmt.Sprintf("at %s, line %d", phrase.XY(e.X, e.Y), e.Line)
}

// burns says how much a program burns, and over what.
func (v Voice) burns(n int, lengthMM float64, low, high focus.Extreme) {
	v.Line("%s, %s mm long, over heights from %s to %s mm; the highest %s",
		phrase.Count(n, "burn"), phrase.Short(lengthMM), phrase.MM(low.MM), phrase.MM(high.MM), place(high))
}

// offSurface says how many burns were taken to be at the height of the edge.
func (v Voice) offSurface(n int) {
	if n > 0 {
		v.Line("%s off the surface, at the height of its edge", phrase.Count(n, "burn"))
	}
}

// datum says where the focus is to be set.
func (v Voice) datum(j *job.Job) {
	v.Line("set the focus %s", datumPlace(j, "at the datum", "where the surface's height is zero"))
}

// countedFrom says where heights count from, where the focus is not to be set
// there.
func (v Voice) countedFrom(j *job.Job) {
	v.Line("heights count %s", datumPlace(j, "from the datum", "from where the surface's height is zero"))
}

func datumPlace(j *job.Job, at, zero string) string {
	xy, ofFile, ok := j.DatumXY()
	switch {
	case !ok:
		return zero
	case ofFile:
		at += " of the surface's file"
	}
	return fmt.Sprintf("%s, %s of the program", at, phrase.XY(xy[0], xy[1]))
}
