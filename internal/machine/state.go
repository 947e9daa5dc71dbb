package machine

import "sagitta/internal/program"

// State is the modal state between two blocks: all that a program needs to be
// told to go on from here as this one does.
type State struct {
	// At is the position; XKnown, YKnown and ZKnown report whether those
	// axes are known to stand there.
	At                     Point
	XKnown, YKnown, ZKnown bool
	// Offset is what G92 has put between positions and the numbers of the
	// program, in mm: an absolute word of 0 goes to the position Offset.
	// Stored is what G92.3 would bring back. Of the axes in OffsetUnknown and
	// StoredUnknown they tell nothing. A place or an offset of less than 900 m
	// is exactly the decimal of 10 digits that is nearest to it.
	Offset, Stored               Point
	OffsetUnknown, StoredUnknown AxisSet
	// Work is the work offset in force, 0 before the first word: G54. Settled
	// reports whether it is what it was at the first motion, which has been
	// met: no block changes it from here on.
	Work    GCode
	Settled bool
	// Moved reports whether a motion has been met, and Placed whether one over XY:
	// the first of those in G91 fixes where it begins.
	Moved, Placed bool
	// Motion is the modal motion word: 0, 1, 2 or 3 for G0 to G3; -1
	// before the first.
	Motion int8
	// Arcs says how I and J count.
	Arcs Centres
	// Relative is G91, Inches G20, InverseTime G93.
	Relative, Inches, InverseTime bool
	// Said are the groups of these modes, and of the plane, of which the program has
	// said a word: of the others, what a controller has in force is its own affair.
	Said GroupSet
	// Feed is the F in force as the program spells it, in the units of
	// FeedInches. FeedSaid reports whether there is one that counts in the feed
	// mode in force.
	Feed                 program.Number
	FeedSaid, FeedInches bool
	// Power is the power word in force; PowerSaid reports whether there is one.
	Power     program.Number
	PowerSaid bool
	// BeamWord is the M word of the beam in force, NoBeam before the first:
	// one that puts it on where BeamLit, whose power follows speed where
	// BeamFollows.
	BeamWord             int
	BeamLit, BeamFollows bool
	// Beam is the beam's state, which depends on the power as well: Off also
	// covers a beam word that is on with power zero.
	Beam Beam
	// Mist and Flood are M7 and M8.
	Mist, Flood bool
	// Path is the path mode, 0 before the first, and PathP its P in the units
	// of PathInches where PathHasP.
	Path                 GCode
	PathP                program.Number
	PathHasP, PathInches bool
}

// known reports of each axis whether it is known.
func (s *State) known() [3]*bool { return [3]*bool{&s.XKnown, &s.YKnown, &s.ZKnown} }

// NoBeam is the BeamWord before the first.
const NoBeam = -1

// noMotion is the motion mode before the first motion word and after G80.
const noMotion = -1

// Beam is what is known of the beam at a block.
type Beam uint8

const (
	// Unsaid: no beam word and no power word so far.
	Unsaid Beam = iota
	// Off: the beam cannot fire.
	Off
	// On: the beam fires on feed moves.
	On
)

// beam is what the words in force make of the beam: what was said of it, or
// else what the power tells.
func (s *State) beam() Beam {
	switch {
	case s.BeamWord == NoBeam && !s.PowerSaid:
		return Unsaid
	case s.BeamWord != NoBeam && !s.BeamLit, s.PowerSaid && s.Power.Mant == 0:
		return Off
	}
	return On
}

// Fed reports whether a feed move can count on Feed: it was said in the feed
// mode and the units in force.
func (s *State) Fed() bool { return s.FeedSaid && s.FeedInches == s.Inches }

// FeedMM returns the F in force in mm/min (of G94).
func (s *State) FeedMM() float64 {
	if s.Inches {
		return s.Feed.Float() * mmPerInch
	}
	return s.Feed.Float()
}
