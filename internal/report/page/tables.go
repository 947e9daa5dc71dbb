package page

import (
	"fmt"
	"math"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
	"sagitta/internal/setup"
)

// LostTable has how much of a burned length loses how many tenths of its speed, see
// report.Job.LostBy.
func LostTable(by []float64, burned float64) Table {
	out := Table{Head: []string{"Speed lost, %", "Length, mm", "Share"}, Right: []bool{true, true, true}}
	for k, mm := range by {
		if mm > 0 {
			out.Rows = append(out.Rows, []string{fmt.Sprintf("%d to %d", 10*k, 10*k+10), phrase.Fixed(mm, 1), share(mm, burned)})
		}
	}
	return out
}

// ShareTable has the burned length by defocus, and that of the original at one focus
// beside it where it is known; classes in which there is nothing are left out.
func ShareTable(t *trace.Trace) Table {
	out := Table{Head: []string{"Defocus, parts of the depth", "Length, mm", "Share"}, Right: []bool{true, true, true}}
	before := t.Before
	if before != nil && len(before.MM) == len(t.Share.MM) {
		out.Head = append(out.Head, "As drawn, mm", "Share")
		out.Right = append(out.Right, true, true)
	} else {
		before = nil
	}
	n := len(t.Share.MM)
	at := func(k int) string { return phrase.Signed(-2+4*float64(k)/float64(n), 2) }
	for k, mm := range t.Share.MM {
		if mm == 0 && (before == nil || before.MM[k] == 0) {
			continue
		}
		class := at(k) + " to " + at(k+1)
		switch k {
		case 0:
			class = "nearer than " + at(1)
		case n - 1:
			class = "further than " + at(n-1)
		}
		row := []string{class, phrase.Fixed(mm, 1), share(mm, t.Share.Total)}
		if before != nil {
			row = append(row, phrase.Fixed(before.MM[k], 1), share(before.MM[k], before.Total))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// share is a part of a length, in percent.
func share(mm, of float64) string {
	if !(of > 0) {
		return "-"
	}
	return phrase.Fixed(100*mm/of, 1) + " %"
}

// DepthTable has how much of the burned length spends how much of the depth, on
// either side.
func DepthTable(t *trace.Trace) Table {
	out := Table{Head: []string{"Spent of the depth", "Length, mm", "Share"}, Right: []bool{false, true, true}}
	n := float64(len(t.Share.MM))
	for _, c := range []struct {
		text     string
		from, to float64
	}{{"up to a third", 0, 1. / 3}, {"up to two thirds", 1. / 3, 2. / 3}, {"more", 2. / 3, 1}, {"out of focus", 1, math.Inf(1)}} {
		mm := 0.0
		for k, bin := range t.Share.MM {
			if middle := math.Abs(-2 + 4*(float64(k)+0.5)/n); middle >= c.from && middle < c.to {
				mm += bin
			}
		}
		out.Rows = append(out.Rows, []string{c.text, phrase.Fixed(mm, 1), share(mm, t.Share.Total)})
	}
	return out
}

// ProgramTable has what each program burns, and with what.
func ProgramTable(t *trace.Trace) Table {
	out := Table{Head: []string{"Program", "Lens", "Focus", "Burns, mm"}, Right: []bool{false, false, false, true}}
	burned := make([]float64, len(t.Programs))
	for i := range t.Stretches {
		if s := &t.Stretches[i]; s.Program < len(burned) {
			burned[s.Program] += s.BurnMM
		}
	}
	for i, p := range t.Programs {
		if i == mostRules {
			out.More = fmt.Sprintf("and %d more", len(t.Programs)-i)
			break
		}
		out.Rows = append(out.Rows, []string{p.Name, p.Lens, setup.Level(p.FocusMM), phrase.Fixed(burned[i], 1)})
	}
	return out
}

// mostClasses is how many classes of c are told apart.
const mostClasses = 8

// HeightTable has how much is burned with the focus moved by how much.
func HeightTable(t *trace.Trace) Table {
	out := Table{Head: []string{"Focus moved by, mm", "Length, mm"}, Right: []bool{true, true}}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range t.Stretches {
		if s := &t.Stretches[i]; s.Burns {
			low, high = min(low, s.C.Lo), max(high, s.C.Hi)
		}
	}
	if !(low <= high) || math.IsInf(high-low, 0) {
		return out
	}
	n := mostClasses
	if high-low < 0.001 {
		n = 1
	}
	lengths := make([]float64, n)
	for i := range t.Stretches {
		if s := &t.Stretches[i]; s.Burns {
			k := 0
			if n > 1 {
				k = min(int(float64(n)*((s.C.Lo+s.C.Hi)/2-low)/(high-low)), n-1)
			}
			lengths[max(k, 0)] += s.BurnMM
		}
	}
	for k, mm := range lengths {
		at := func(k int) string { return phrase.Signed(low+(high-low)*float64(k)/float64(n), 3) }
		out.Rows = append(out.Rows, []string{at(k) + " to " + at(k+1), phrase.Fixed(mm, 1)})
	}
	return out
}

// mostSpans is how many spans the table of the path has.
const mostSpans = 40

// PathTable has the path in spans that take about as long.
func PathTable(t *trace.Trace) Table {
	out := Table{Head: []string{"From", "Lines", "Stock, mm", "c, mm", "Defocus, mm", "Z speed, mm/s"}, Right: []bool{true, false, true, true, true, true, true}}
	if t.Inertia {
		out.Head = append(out.Head, "Z speed step, mm/s")
	}
	type span struct {
		first, last *trace.Stretch
		h, c, d     trace.Range
		speed, step float64
	}
	var now span
	put := func() {
		if now.first == nil {
			return
		}
		lines := fmt.Sprint(now.first.Line)
		if last := max(now.last.Line, now.last.LastLine); now.last.Program != now.first.Program || last > now.first.Line {
			lines += " to " + fmt.Sprint(last)
		}
		if len(t.Programs) > 1 && now.first.Program < len(t.Programs) {
			lines = plain(t.Programs[now.first.Program].Name) + ", " + lines
		}
		row := []string{phrase.Clock(now.first.At), lines, between(now.h, false), between(now.c, true), between(now.d, true), phrase.Fixed(now.speed, 2)}
		if t.Inertia {
			row = append(row, phrase.Fixed(now.step, 3))
		}
		out.Rows = append(out.Rows, row)
	}
	for i := range t.Stretches {
		s := &t.Stretches[i]
		if now.first == nil || s.At-now.first.At >= t.Seconds/mostSpans && len(out.Rows) < mostSpans {
			put()
			now = span{first: s, h: trace.Empty(), c: trace.Empty(), d: trace.Empty()}
		}
		now.last, now.speed, now.step = s, max(now.speed, s.ZSpeed), max(now.step, s.ZStep)
		now.h, now.c, now.d = joined(now.h, s.Height), joined(now.c, s.C), joined(now.d, s.Defocus)
	}
	put()
	return out
}

func joined(a, b trace.Range) trace.Range {
	if !(b.Lo <= b.Hi) {
		return a
	}
	return trace.Range{Lo: min(a.Lo, b.Lo), Hi: max(a.Hi, b.Hi)}
}

// between writes a range, "-" where it is empty.
func between(r trace.Range, signed bool) string {
	if !(r.Lo <= r.Hi) {
		return "-"
	}
	write := phrase.Fixed
	if signed {
		write = phrase.Signed
	}
	if lo, hi := write(r.Lo, 3), write(r.Hi, 3); lo != hi {
		return lo + " to " + hi
	}
	return write(r.Lo, 3)
}
