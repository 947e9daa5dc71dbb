package ladder

import (
	"fmt"

	"sagitta/internal/phrase"
	"sagitta/internal/stroke"
)

// Program gives the program. The error is a *diag.Error.
func (p *Plan) Program() ([]byte, error) {
	w := newPen(p)
	w.head()
	top := w.power(p.topPower())
	w.comment("labels, at best focus")
	w.on()
	for _, l := range p.Labels {
		w.strokes(stroke.Text(l.Text, l.CapMM, 0, 0), w.units(l.X), w.units(l.Y), top)
	}
	w.off()
	fig := figure()
	for i, r := range p.Rungs {
		w.approach(i, r, fig[0][0])
		w.on()
		w.strokes(fig, w.units(r.X), w.units(r.Y), w.power(r.PowerPct))
		w.off()
	}
	w.comment("end of the ladder: best focus again")
	w.travel(0, 0)
	w.block("M2")
	return w.out, w.err
}

// head says what the program is and what it needs, and puts the bench into a
// known state, the beam off before anything else.
func (w *pen) head() {
	p, o := w.plan, &w.plan.opt
	w.comment("focus ladder, made by " + o.Made)
	w.comment(fmt.Sprintf("%s from %s to %s mm, then best focus again",
		phrase.Count(len(p.Rungs), "rung"), p.offsetText(p.Offsets[0]), p.offsetText(-p.NearestMM)))
	w.comment("minus is nearer the lens, plus is further from it")
	w.comment(fmt.Sprintf("block %s x %s mm, X0 Y0 at its lower left corner, flat stock", num(p.Width), num(p.Height)))
	w.comment("first set best focus as well as you can")
	if w.b.ByHand {
		w.comment("no Z is written, each pause says what to set")
	} else {
		w.comment(fmt.Sprintf("and make it %c%s mm there", w.b.Machine.ZAxis, num(w.b.Machine.Start.Z)))
	}
	if p.GapKnown {
		w.comment(fmt.Sprintf("the head comes to %s mm from the stock", num(p.GapMM)))
	} else {
		w.comment(fmt.Sprintf("the head comes %s mm nearer to the stock than at best focus", num(p.NearestMM)))
		w.comment("see that it clears")
	}
	w.comment("eye protection for the wavelength, fumes extracted, extinguisher at hand")
	w.comment("never leave it unattended")
	w.off()
	units := "G21"
	if w.b.Machine.Inches {
		units = "G20"
	}
	w.block(units + " G90 G94 G17")
	if !w.b.ByHand {
		w.lens(0)
	}
}

// approach takes the head to where rung i begins, with the beam off: up before
// the travel, down after it, and always down to the offset at last.
func (w *pen) approach(i int, r Rung, begin stroke.Point) {
	p := w.plan
	x, y := w.units(r.X)+w.units(begin.X), w.units(r.Y)+w.units(begin.Y)
	w.comment(fmt.Sprintf("rung %d: %s mm, %s percent of full power", r.No, p.offsetText(r.OffsetMM), num(r.PowerPct)))
	first := i == 0 || p.columnOf(i) != p.columnOf(i-1)
	if !first {
		w.travel(x, y)
		return
	}
	rise := r.OffsetMM >= w.z-slack
	past := 0.0
	if rise {
		past = p.takeUp(r.OffsetMM)
	}
	if w.b.ByHand {
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
func (p *Plan) columnOf(rung int) int { return rung / len(p.opt.PowersPct) }
