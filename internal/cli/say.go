package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
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
}

func tellNoProfile(w io.Writer, l *loaded) {
	if !l.profile {
		fmt.Fprintln(w, "sagitta: assumed: no machine profile; programs in mm, +Z away from the stock, Z free to move while burning")
	}
}

// tellDepth prints the terms that the usable depth is made of, those that are
// not zero, and what they come to.
func tellDepth(w io.Writer, l *loaded, p focus.Purpose) {
	d, b := l.checking, &l.budget
	if p == focus.Writing {
		d = l.writing
	}
	type line struct{ name, amount, from string }
	lines := []line{{"lens", sides(b.Lens), b.LensFrom}}
	table := b.Table(p)
	for _, r := range table[2 : len(table)-2] { // the first and last two are sides
		if r.MM != 0 {
			lines = append(lines, line{r.Name, fmt.Sprintf("%.4f", r.MM), r.From})
		}
	}
	if len(lines) > 1 {
		lines = append(lines, line{"left to use", sides(d), ""})
	}
	names, amounts := 0, 0
	for _, n := range lines {
		names, amounts = max(names, len(n.name)), max(amounts, len(n.amount))
	}
	fmt.Fprintf(w, "sagitta: usable depth %s mm:\n", sides(d))
	for _, n := range lines {
		fmt.Fprintf(w, "sagitta:   %s\n", strings.TrimRight(fmt.Sprintf("%-*s  %*s  %s", names, n.name, amounts, n.amount, n.from), " "))
	}
}

func sides(d focus.Depth) string { return fmt.Sprintf("-%.3f to +%.3f", d.Near, d.Far) }

func tellFollow(w io.Writer, l *loaded, f *follow.Summary) {
	tellAssumed(w, l)
	tellHead(w, l, nearText(f.Nearest, true, f.NearestX, f.NearestY, f.NearestLine))
	tellDepth(w, l, focus.Writing)
	fmt.Fprintf(w, "sagitta: %s, %s mm long, over heights from %s to %s mm; the highest at X%.3f Y%.3f, line %d\n",
		phrase.Count(f.Burns, "burn"), short(f.BurnLength), mm(f.Low), mm(f.High), f.HighX, f.HighY, f.HighLine)
	if f.Outside > 0 {
		fmt.Fprintf(w, "sagitta: %s off the surface, at the height of its edge\n", phrase.Count(f.Outside, "burn"))
	}
	if f.Changed+f.Added == 0 {
		fmt.Fprintln(w, "sagitta: nothing had to change: the program runs flat")
	} else {
		fmt.Fprintf(w, "sagitta: Z written from %s to %s mm; %s changed, %d added (%s); the program grew from %d to %d bytes\n",
			mm(f.ZLow), mm(f.ZHigh), phrase.Count(f.Changed, "line"), f.Added, phrase.Count(f.Points, "cut"), f.BytesIn, f.BytesOut)
	}
	tellLines(w, l, f)
	if f.Lowered+f.Raised > 0 {
		fmt.Fprintf(w, "sagitta: feed lowered on %s, raised on %s to keep the speed over XY; the program takes %s instead of %s\n",
			phrase.Count(f.Lowered, "move"), phrase.Count(f.Raised, "move"), phrase.Clock(f.SecondsOut), phrase.Clock(f.Seconds))
	}
	if f.ShortWindow > 0 {
		fmt.Fprintf(w, "sagitta: from line %d on less was looked ahead at than the rate of Z asks for; the path stays in focus, but may ask more of Z than the least\n", f.ShortWindow)
	}
	if f.EndAbove > 0 {
		fmt.Fprintf(w, "sagitta: Z ends %s mm off the rest height: the stock, or a beam that is still on, is in the way\n", mm(f.EndAbove))
		if f.Relative {
			fmt.Fprintf(w, "sagitta: in G91 the next run would begin that much higher: set the focus anew before it\n")
		}
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
