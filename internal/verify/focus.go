package verify

import (
	"fmt"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/verify/extremes"
)

// way says how the step under way is looked at: along its way, or only at its
// end, as a travel of Z alone, which is lowest there or comes from where it was not
// clear, and all that comes from an unknown place. It is no way where nothing moves,
// or where it ends is not known.
func (j *Judge) way(burn bool) (endOnly, is bool) {
	m := &j.S.M
	if m.FromUnknown || m.ZUnknown || !j.S.Known {
		if j.S.Kind == Motion {
			j.unknownWay.Add(j.S.Line)
			j.Res.Unchecked++
		}
		return true, j.S.Known
	}
	return m.Length == 0 && !burn, burn || m.Length > 0 || j.S.dz() != 0
}

// find looks along the step, with c at its ends, for what is beyond lo and hi over
// the heights, and for a burn for heights lower and higher than before. Where heights are
// not all as sure, lo and hi are of a burn for what is spent of the depth. It reports
// whether there can be any.
func (j *Judge) find(c0, c1, lo, hi float64, burn bool) bool {
	endOnly, is := j.way(burn)
	if endOnly {
		c0 = c1
	}
	if !is || !burn && min(c0, c1)-j.f.High >= lo {
		return false // or it is above all there is
	}
	low, high := math.Inf(-1), math.Inf(1)
	if burn {
		low, high = j.Res.Lowest.MM, j.Res.Highest.MM
	}
	sp := &j.sp
	*sp = extremes.Below{C0: c0, C1: c1, Watch: burn, Uneven: burn && j.f.Uneven()}
	sp.Focus.Begin(lo, hi)
	if sp.Uneven {
		sp.Spent.Begin(lo, hi)
		sp.Focus.Begin(j.Res.Nearest.MM-j.asks.now.defocus, math.Inf(1))
	}
	sp.Height.Begin(low, high)
	return j.f.Along(sp, &j.S.M, endOnly)
}

// look holds the step to the focus, a travel before it is known from where its lift
// counts once it is.
func (j *Judge) look(c0, c1 float64, burn bool, o *Step) {
	if !burn && j.S.Kind == Motion && j.lifts.wait(&j.S, c0, c1, o) {
		return
	}
	if !burn {
		c0, c1 = j.raised(c0, c1)
	}
	j.within(c0, c1, burn, o)
}

// lookBack looks at the travels that have waited.
func (j *Judge) lookBack() {
	now, waiting := j.S, j.lifts.waiting
	j.lifts.waiting = nil
	for k := range waiting {
		w := &waiting[k]
		j.S = w.s
		c0, c1 := j.raised(w.c0, w.c1)
		j.within(c0, c1, false, w.o)
	}
	j.S = now
}

// raised gives the corrections of the travel under way that its lift is worth: those
// that it has, where it is below the Z at which the focus is set at an end, or that Z is
// not known.
func (j *Judge) raised(c0, c1 float64) (float64, float64) {
	m, l := &j.S.M, &j.lifts
	if !l.known {
		return c0, c1
	}
	z0, z1 := j.sigma*m.From.Z-l.focus, j.sigma*m.To.Z-l.focus
	if m.FromUnknown || m.ZUnknown || m.Length == 0 {
		z0, c0 = z1, c1 // it counts where it ends
	}
	if z0 < c0-placeSlackMM || z1 < c1-placeSlackMM {
		return c0, c1
	}
	return z0, z1
}

// within holds the step to the focus, its corrections being c0 and c1.
func (j *Judge) within(c0, c1 float64, burn bool, o *Step) {
	asked := &j.asks.now
	if !burn { // it may have waited
		asked = &j.asks.travels
	}
	d, depth := asked.defocus, asked.depth
	c0, c1 = c0+j.byHand, c1+j.byHand
	// Res.Nearest asks how near it comes: nothing nearer than so far is skipped.
	lo, hi := max(-depth.Near, j.Res.Nearest.MM-d), math.Inf(1)
	switch {
	case burn && j.f.Uneven():
		worst := asked.ruled.worst
		lo, hi = max(-depth.Near, -worst), min(depth.Far, worst)
	case burn:
		worst := asked.ruled.worst
		lo, hi = max(lo, -worst), min(depth.Far, worst)
	}
	if j.found = j.find(c0-d, c1-d, lo, hi, burn); !j.found {
		return
	}
	if v := j.sp.Focus.Lo + d; v < j.Res.Nearest.MM {
		j.Res.Nearest = j.extreme(v, j.sp.Focus.AtLo)
	}
	if burn {
		j.record()
	}
	j.outside(burn, asked.depth, o)
}

// extreme is a value that the step under way has at a fraction of its move.
func (j *Judge) extreme(v, s float64) focus.Extreme {
	at := j.S.M.XY(s)
	return focus.Extreme{MM: v, Line: j.S.Line, X: at[0], Y: at[1]}
}

// spent is what the step under way spends of the depth, with what heights are less sure
// by under a burn.
func (j *Judge) spent(burn bool) *extremes.Range {
	if burn && j.sp.Uneven {
		return &j.sp.Spent
	}
	return &j.sp.Focus
}

// record takes the extremes over all burns of the rule.
func (j *Judge) record() {
	r, e, h := j.Res, j.spent(true), &j.sp.Height
	x := j.asks.now.ruled
	if -e.Lo > x.worst {
		x.worst, x.Defocus, x.Less = -e.Lo, j.extreme(e.Lo+e.LessLo, e.AtLo), e.LessLo
	}
	if e.Hi > x.worst {
		x.worst, x.Defocus, x.Less = e.Hi, j.extreme(e.Hi-e.LessHi, e.AtHi), e.LessHi
	}
	if h.Lo < r.Lowest.MM {
		r.Lowest = j.extreme(h.Lo, h.AtLo)
	}
	if h.Hi > r.Highest.MM {
		r.Highest = j.extreme(h.Hi, h.AtHi)
	}
}

// outside reports what of the step is outside its window, which the depth makes.
func (j *Judge) outside(burn bool, depth focus.Depth, o *Step) {
	sp := &j.sp
	e := j.spent(burn)
	low := NotClear
	if burn {
		low = TooNear
	}
	if burn && (e.Lo < -depth.Near-extremes.FoundMM || e.Hi > depth.Far+extremes.FoundMM) {
		j.Res.BurnsOut++
		j.asks.now.ruled.BurnsOut++
	}
	f := j.violation(low, o, e.AtLo, 0)
	f.Detail = lessSure(e.LessLo)
	j.Res.beyond(f, -depth.Near-e.Lo, -depth.Near-e.OpenLo, extremes.CertainMM)
	if !burn {
		return
	}
	f = j.violation(TooFar, o, e.AtHi, 0)
	f.Detail = lessSure(e.LessHi)
	j.Res.beyond(f, e.Hi-depth.Far, e.OpenHi-depth.Far, extremes.CertainMM)
	j.over.take(&j.S.M, j.S.Inches)
	// A path along the edge may leave it by the rounding of a cut point.
	switch edge := j.Opt.lastDecimal(j.S.Inches); {
	case sp.Off > edge && j.Opt.OutsideHold:
		j.Res.EdgeBurns++
	case sp.Off > edge:
		j.over.off++
		j.Fail(OffSurface, o, sp.OffAt, sp.Off, "")
	}
	if sp.Holes {
		j.Fail(OverHole, o, sp.OverAt, sp.Over, "")
	}
}

// lessSure says why a depth is less by so much.
func lessSure(mm float64) string {
	if mm == 0 {
		return ""
	}
	return fmt.Sprintf("heights are less sure there, and the depth is %s mm less", Number(mm))
}

// beyond reports f where it was found beyond a limit by so much, or where being
// open, more than certain, beyond it could not be ruled out.
func (r *Result) beyond(f Violation, found, open, certain float64) {
	switch {
	case found > extremes.FoundMM:
		f.Amount = found
	case open > certain:
		f.Amount, f.Unproven = open, true
	default:
		return
	}
	r.Fail(f)
}

// Clearance is the least that a travel keeps over what is below it: Z, counted
// away from the stock, less the height, in mm. Open is what could not be ruled
// out.
type Clearance struct {
	Least focus.Extreme
	Open  float64
}

// NoTravel is the clearance of no travel at all.
func NoTravel() Clearance { return Clearance{focus.Extreme{MM: math.Inf(1)}, math.Inf(1)} }

// Clearance lowers the clearance of the travels before to that of the step
// under way, whose Z counts as raised so much.
func (j *Judge) Clearance(least *Clearance, raised float64) {
	at := &least.Least
	if m := &j.S.M; j.crosses() {
		z := min(j.sigma*m.From.Z, j.sigma*m.To.Z) + raised
		_, best, open := j.lens.look(&tipMove{m: *m, z0: z, z1: z}, math.Inf(-1))
		least.Open = min(least.Open, 2*extremes.TipGapMM-max(best, open)) // it is bounded no closer
	}
	if !j.find(j.sigma*j.S.M.From.Z+raised, j.sigma*j.S.M.To.Z+raised, at.MM, math.Inf(1), false) {
		return
	}
	if e := &j.sp.Focus; e.Lo < at.MM {
		*at = j.extreme(e.Lo, e.AtLo)
	}
	least.Open = min(least.Open, j.sp.Focus.OpenLo)
}

// Hold reports, as one failure, that the clearance is less than what is asked.
func (c *Clearance) Hold(r *Result, least float64) {
	at := &c.Least
	r.beyond(Violation{Kind: NotClear, Line: at.Line, X: at.X, Y: at.Y}, least-at.MM, least-c.Open, extremes.CertainMM)
}
