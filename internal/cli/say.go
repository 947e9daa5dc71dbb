package cli

import (
	"fmt"
	"io"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/machine"
)

// Messages of a run. Each is one line that begins with "sagitta: ", in lower
// case; figures carry their units; what was assumed is said first.

func tellAssumed(w io.Writer, l *loaded) {
	c := &l.config
	if !c.StartXYKnown {
		fmt.Fprintf(w, "sagitta: assumed: the head stands at Z%g; where in XY is not known before the program says\n", c.Start.Z)
	}
	tellNoProfile(w, l)
	if l.machine.ZRateMMMin == nil && l.machine.ZMoves != job.ZByHand {
		fmt.Fprintln(w, "sagitta: assumed: nothing limits the rate of Z")
	}
	low, high, _, _ := l.placed.Range()
	fmt.Fprintf(w, "sagitta: head clearance not checked; the surface rises to %s mm over the datum and falls to %s mm\n", mm(high), mm(low))
}

func tellNoProfile(w io.Writer, l *loaded) {
	if !l.profile {
		fmt.Fprintln(w, "sagitta: assumed: no machine profile; programs in mm, +Z away from the stock, Z free to move while burning")
	}
}

// tellDepth prints the depth and what was taken off it.
func tellDepth(w io.Writer, l *loaded, p focus.Purpose) {
	d := l.checking
	if p == focus.Writing {
		d = l.writing
	}
	fmt.Fprintf(w, "sagitta: usable depth -%.3f to +%.3f mm: lens -%.3f to +%.3f (%s)", d.Near, d.Far,
		l.budget.Lens.Near, l.budget.Lens.Far, l.budget.LensFrom)
	for _, r := range l.budget.Table(p) {
		switch {
		case r.Name == "expanded uncertainty" && r.MM > 0:
			fmt.Fprintf(w, ", less %.3f for the uncertainty of surface and focus", r.MM)
		case (r.Name == "backlash" || r.Name == "half the last decimal") && r.MM > 0:
			fmt.Fprintf(w, ", less %s for %s", short(r.MM), r.Name)
		}
	}
	fmt.Fprintln(w)
}

func tellFollow(w io.Writer, l *loaded, f *follow.Summary) {
	tellAssumed(w, l)
	tellDepth(w, l, focus.Writing)
	fmt.Fprintf(w, "sagitta: %s, %s mm long, over heights from %s to %s mm; the highest at X%.3f Y%.3f, line %d\n",
		count(f.Burns, "burn"), short(f.BurnLength), mm(f.Low), mm(f.High), f.HighX, f.HighY, f.HighLine)
	if f.Outside > 0 {
		fmt.Fprintf(w, "sagitta: %s off the surface, at the height of its edge\n", count(f.Outside, "burn"))
	}
	if f.Changed+f.Added == 0 {
		fmt.Fprintln(w, "sagitta: nothing had to change: the program runs flat")
	} else {
		fmt.Fprintf(w, "sagitta: Z written from %s to %s mm; %s changed, %d added (%s); the program grew from %d to %d bytes\n",
			mm(f.ZLow), mm(f.ZHigh), count(f.Changed, "line"), f.Added, count(f.Points, "cut"), f.BytesIn, f.BytesOut)
	}
	tellLines(w, l, f)
	if f.Lowered+f.Raised > 0 {
		fmt.Fprintf(w, "sagitta: feed lowered on %s, raised on %s to keep the speed over XY; the program takes %s instead of %s\n",
			count(f.Lowered, "move"), count(f.Raised, "move"), clock(f.SecondsOut), clock(f.Seconds))
	}
	if f.ShortWindow > 0 {
		fmt.Fprintf(w, "sagitta: from line %d on less was looked ahead at than the rate of Z asks for; the path stays in focus, but may ask more of Z than the least\n", f.ShortWindow)
	}
	if f.EndAbove > 0 {
		fmt.Fprintf(w, "sagitta: Z ends %s mm off the rest height: the stock, or a beam that is still on, is in the way\n", mm(f.EndAbove))
	}
	tellDatum(w, l)
}

// tellLines says what the lines ask of the controller.
func tellLines(w io.Writer, l *loaded, f *follow.Summary) {
	fmt.Fprintf(w, "sagitta: at most %.0f lines within a second, about line %d\n", f.LinesPerS, f.LinesPerSLine)
	if most := l.machine.LinesPerS; most != nil && f.LinesPerS > *most {
		fmt.Fprintf(w, "sagitta: caution: that is more than the controller takes (lines_per_s = %g); it may stutter and mark unevenly\n", *most)
	}
	if f.NumbersRepeat > 0 {
		fmt.Fprintf(w, "sagitta: caution: line numbers repeat, the first time at line %d: lines were added where the numbers leave no room\n", f.NumbersRepeat)
	}
	for _, n := range f.Notes {
		fmt.Fprintf(w, "sagitta: %s\n", unknownM(n))
	}
}

func unknownM(n machine.Note) string {
	return fmt.Sprintf("line %d: M%d is unknown; it counts as without effect on motion and beam", n.Place.Line, n.M)
}

func tellDatum(w io.Writer, l *loaded) {
	h := l.placed.Surface().Header()
	switch {
	case l.o.datum != "":
		fmt.Fprintf(w, "sagitta: set the focus at the datum, X,Y %s of the program\n", l.o.datum)
	case h.Datum != nil:
		x, y := l.placed.Program(h.Datum[0], h.Datum[1])
		fmt.Fprintf(w, "sagitta: set the focus at the datum of the surface's file, X%.3f Y%.3f of the program\n", x, y)
	default:
		fmt.Fprintln(w, "sagitta: set the focus where the surface's height is zero")
	}
}

func mm(v float64) string {
	if math.Abs(v) < 0.0005 {
		v = 0
	}
	return fmt.Sprintf("%.3f", v)
}

func short(v float64) string { return fmt.Sprintf("%.4g", v) }

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// clock writes seconds as people read them.
func clock(s float64) string {
	switch {
	case s < 60:
		return fmt.Sprintf("%.1f s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %02d s", int(s)/60, int(s)%60)
	}
	return fmt.Sprintf("%d h %02d min", int(s)/3600, int(s)%3600/60)
}
