package set

import (
	"io"
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// zone is a zone on its way: its judge's step is its next burn.
type zone struct {
	*verify.Judge
	file io.Closer
	list *Zone
	// number is its place in the order of burning, from 1, and end the state that
	// its program ends in.
	number int
	end    machine.State
	// set is what the setting at the bench adds to c, focus the Z, counted away from
	// the stock, at which best focus is on the datum, and written what the program is
	// to add to Z where that sets the focus; nil where it does not.
	set, focus float64
	written    *float64
	// from and to bound the lines that are the zone's.
	from, to int
	// waits are the lines at which the program has yet to wait for the operator,
	// listed all at which it may.
	waits, listed []int
	// burns tells that there is a next burn, and ends that a word ends the program.
	burns, ends bool
	// begun tells that a burn was met, the last of them programmed at lastZ,
	// counted away from the stock.
	begun bool
	lastZ float64
	// lastC is c where the last burn ends, and before the first that of the list.
	lastC float64
	// gap is the least clearance of the travels since the last burn.
	gap verify.Clearance
	// owed are the steps since its last burn that the original must have too,
	// of which the first met have been found there: those in which the beam is on
	// while nothing is burned, waits before which no word puts it off, and words that
	// switch other things or end the program.
	owed []verify.Step
	met  int
	// bare is the line of its first burn before which its program has said no word of
	// the beam, 0 if it has none.
	bare int
	// blows is the air of its travels since then, and blew that of the original
	// since the burn that was found.
	blows, blew air
	// stops tells that its program serves several zones, and headless that its head is
	// not known.
	stops, headless bool
	// byHand tells that the lens is raised by hand.
	byHand bool
	// raised are the lines between which the lens is raised by hand, in order,
	// and raisedMM by how much; unchecked counts the travels where that is not
	// known.
	raised    [][2]int
	raisedMM  []float64
	unchecked int
	// home is where the head stands before the zone's first travel, nil where
	// that is not known.
	home *[2]float64
	// points are the places at which a program with stops has the focus set: there
	// the lens comes down to best focus, whatever defocus is wanted and however
	// high the burns are, and atPoints is the least clearance.
	points   [][2]float64
	atPoints verify.Clearance
	// stopZ is the Z, counted away from the stock, at which it stands as its focus is
	// set; nil where the program does not stop for that.
	stopZ *float64
}

// next goes on to the zone's next burn.
func (r *zone) next() error {
	r.burns = false
	for {
		if err := r.Next(); err != nil {
			return err
		}
		s := &r.S
		if s.Kind == verify.AtEnd || s.Line > r.to {
			return nil
		}
		if s.Kind == verify.Word && (s.Word == 0 || s.Word == 60) && !s.Optional {
			r.waits = slices.DeleteFunc(r.waits, func(line int) bool { return line == s.Line })
			if s.Line == r.list.FocusStopLine {
				r.atFocusStop()
			}
			r.tells()
		}
		r.ends = r.ends || s.Ends() && !s.Optional
		if s.Line <= r.from {
			continue
		}
		r.idle()
		switch {
		case !s.Lit() && !r.switches() && (!s.Waits() || s.WordOff && r.mayWait()):
		case len(r.owed) < mostOwed:
			r.owed = append(r.owed, *s)
		default:
			r.alien()
		}
		switch {
		case s.Kind == verify.Word:
			r.stands()
		case s.M.Burn:
			r.burns = true
			if r.bare == 0 && r.State().BeamWord == machine.NoBeam {
				r.bare = s.Line
			}
			return nil
		case s.Kind == verify.Motion:
			r.travel()
		}
	}
}

// idle takes a wait or a dwell with the beam off. A watcher is told that c is there, and on
// travels, what it was where the last burn has ended.
func (r *zone) idle() {
	switch s := &r.S; {
	case s.Kind == verify.Word:
		r.TellWait()
	case s.Kind == verify.Dwell && !s.M.Burn:
		r.Count(0, 0, false, nil)
		r.TellTravel(r.lastC)
	}
}

// travel takes the travel under way.
func (r *zone) travel() {
	m, home := &r.S.M, r.home
	r.fromHome()
	r.Count(0, 0, false, nil)
	r.TellTravel(r.lastC)
	r.blows |= airOf(&r.S)
	if home != nil && m.From.X == home[0] && m.From.Y == home[1] && m.Length == 0 && r.Opt.Sigma()*(m.To.Z-m.From.Z) >= 0 {
		return // up from where the focus was set
	}
	raised, known := r.raisedAt(r.S.Line)
	if !known {
		r.unchecked++
		r.Res.Unchecked++
		return
	}
	r.Clear(raised, false, nil)
	if m.Length == 0 && slices.ContainsFunc(r.points, func(at [2]float64) bool {
		return math.Hypot(at[0]-m.To.X, at[1]-m.To.Y) <= r.Tolerance()
	}) {
		r.Clearance(&r.atPoints, raised)
		return
	}
	r.Clearance(&r.gap, raised)
}

// fromHome makes of the travel under way, before the program has said where it is,
// one from where the head stands.
func (r *zone) fromHome() {
	s, m, st := &r.S, &r.S.M, r.State()
	switch {
	case r.home == nil:
		return
	case !m.FromUnknown || m.Lost&(machine.AxisX|machine.AxisY) != 0:
		r.home = nil
		return
	}
	m.From.X, m.From.Y = r.home[0], r.home[1]
	if !st.XKnown {
		m.To.X = m.From.X
	}
	if !st.YKnown {
		m.To.Y = m.From.Y
	}
	m.FromUnknown, m.Length, s.Known = false, math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y), st.ZKnown
	r.home = &[2]float64{m.To.X, m.To.Y}
	if st.XKnown && st.YKnown {
		r.home = nil
	}
}

// stands takes a word at which the operator may have brought the lens lower.
func (r *zone) stands() {
	if len(r.raised) == 0 || r.raised[0][1] != r.S.Line {
		return
	}
	st := r.State()
	if by, known := r.raisedAt(r.S.Line + 1); known && st.XKnown && st.YKnown && st.ZKnown {
		r.ClearHere(by)
	}
}

// raisedAt is by how much the lens is raised by hand on a line, and whether
// that is known.
func (r *zone) raisedAt(line int) (by float64, known bool) {
	for len(r.raised) > 0 && r.raised[0][1] > 0 && r.raised[0][1] < line {
		r.raised = r.raised[1:]
		r.raisedMM = r.raisedMM[min(1, len(r.raisedMM)):]
	}
	switch {
	case len(r.raised) == 0 || r.raised[0][0] >= line:
		return 0, true
	case len(r.raisedMM) == 0:
		return 0, false
	}
	return r.raisedMM[0], true
}

// arrive holds the travels since the last burn to the zone's depth, as a burn
// programmed at z, counted away from the stock, comes next; with ends set
// none does.
func (r *zone) arrive(z float64, ends bool) {
	gap := r.gap
	r.gap = verify.NoTravel()
	switch {
	case ends && !r.begun:
		return
	case ends:
		z = r.lastZ
	case r.begun:
		z = min(z, r.lastZ)
	}
	gap.Hold(r.Res, r.Lead()-r.set+z)
}

// compare holds the zone's next burn, which lies on o, to it.
func (r *zone) compare(o *verify.Step, l lies) {
	sigma := r.Opt.Sigma()
	z0, z1 := zOn(o, l)
	r.settle()
	r.arrive(min(sigma*z0, sigma*z1), false)
	r.CompareMove(o)
	r.blew |= airOf(o)
	r.breathe(o)
	r.blew = airOf(o)
	if r.S.Mist != o.Mist || r.S.Flood != o.Flood {
		r.Fail(verify.WordDiffers, o, 0, math.NaN(), "the air (M7, M8) is not as in the original")
	}
	r.focused(r.S.M.From.Z-z0, o)
	r.focused(r.S.M.To.Z-z1, o)
	c := r.set + sigma*(r.S.M.To.Z-z1)
	r.Take(r.set+sigma*(r.S.M.From.Z-z0), c, true, o)
	r.begun, r.lastZ, r.lastC = true, sigma*o.M.To.Z, c
}

// focused holds what a burn adds to the Z of the original's step o to what the list
// says that the program adds, where that sets the focus. Each change is reported
// once.
func (r *zone) focused(added float64, o *verify.Step) {
	if r.written == nil {
		return
	}
	added *= r.Opt.Sigma()
	if off := added - *r.written; math.Abs(off) > r.LastZ() {
		r.Fail(verify.FocusDiffers, o, 0, off, "")
		r.written = &added
	}
}
