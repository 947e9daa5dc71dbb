package ladder

import (
	"fmt"
	"slices"

	"sagitta/internal/stroke"
)

// Program gives the program. The error is a *diag.Error.
func (l *Ladder) Program() ([]byte, error) {
	w := newWriter(l)
	w.head()
	top := w.power(slices.Max(l.opt.PowersPct))
	w.Comment("labels, at best focus")
	for i, label := range l.Labels {
		x, y, lines := w.Units(label.X), w.Units(label.Y), stroke.Text(label.Text, label.CapMM, 0, 0)
		if i == 0 { // its word is off all the way there
			w.travel(x+w.Units(lines[0][0].X), y+w.Units(lines[0][0].Y))
			w.on()
		}
		w.strokes(lines, x, y, top)
	}
	w.Block(w.Off())
	fig := figure()
	for i, r := range l.Rungs {
		w.approach(i, r, fig[0][0])
		w.on()
		w.strokes(fig, w.Units(r.X), w.Units(r.Y), w.power(r.PowerPct))
		w.Block(w.Off())
	}
	w.Comment("end of the ladder: best focus again")
	w.travel(0, 0)
	w.Block("M2")
	return w.Text()
}

// head says what the program is and what it needs, and puts the bench into a
// known state, the beam off before anything else.
func (w *writer) head() {
	for _, line := range w.ladder.text("program.txt") {
		w.Comment(line)
	}
	w.Block(w.Off())
	w.Block(w.Unit(), "G90", "G94", "G17")
	if !w.ladder.opt.byHand() {
		w.lens(0)
	}
}

// approach takes the head to where rung i begins, with the beam off: up before
// the travel, down after it, and always down to the offset at last.
func (w *writer) approach(i int, r Rung, begin stroke.Point) {
	l := w.ladder
	x, y := w.Units(r.X)+w.Units(begin.X), w.Units(r.Y)+w.Units(begin.Y)
	w.Comment(fmt.Sprintf("rung %d: %s mm, %s percent of full power", r.No, l.offsetText(r.OffsetMM), num(r.PowerPct)))
	first := i == 0 || l.columnOf(i) != l.columnOf(i-1)
	if !first {
		w.travel(x, y)
		return
	}
	rise := r.OffsetMM >= w.z-slack
	past := 0.0
	if rise {
		past = l.takeUp(r.OffsetMM)
	}
	if l.opt.byHand() {
		if rise {
			w.pause(r.OffsetMM, past)
		}
		w.travel(x, y)
		if !rise {
			w.pause(r.OffsetMM, 0)
		}
		return
	}
	if rise && past > 0 || r.OffsetMM > w.z {
		w.lens(r.OffsetMM + past)
	}
	w.travel(x, y)
	if r.OffsetMM != w.z {
		w.lens(r.OffsetMM)
	}
}

// columnOf is the place of a rung's offset among the offsets.
func (l *Ladder) columnOf(rung int) int { return rung / len(l.opt.PowersPct) }
