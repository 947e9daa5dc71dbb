package advise

import (
	"sagitta/internal/follow"
	"sagitta/internal/setup"
)

// Answer is what a lens can do for the job. Where it is out nothing is tried.
type Answer struct {
	Optic
	// Doubt says why it may not mark a detail that was only guessed.
	Doubt string

	Flat FlatAnswer
	// Follow is how it follows as the bench's Z moves, BeamOff with Z
	// moving only while the beam is off. Nil where it was not tried: the
	// job runs flat, or Z is moved by hand.
	Follow, BeamOff *FollowAnswer
	// Zones is how many zones it needs at one focus each, 1 where it runs
	// flat; 0 where it cannot be divided, and NoZones says why.
	Zones   int
	NoZones string
}

// FlatAnswer is how a lens runs the job at one focus.
type FlatAnswer struct {
	OK bool
	// Focus is the best, in mm over the datum: in the middle of the heights
	// that the burns see, each side of the depth spent alike; raised where
	// travels would touch otherwise.
	Focus float64
	// Part is the part of the depth that it spends.
	Part float64
	// Over is by how many mm the heights are further apart than the depth, Travel by
	// how much a travel is in the way, and Entry the way from where the focus is set;
	// 0 where they are not.
	Over, Travel, Entry float64
	// AtDatum tells that it also runs flat with the focus at the datum.
	AtDatum bool

	point setup.FocusPoint // where to set it
}

// FollowAnswer is how a lens follows the surface.
type FollowAnswer struct {
	OK bool
	// Why is the first place where it cannot, Count how many there are.
	Why   string
	Count int
	// Kind and Amount are of the worst kind met.
	Kind   follow.FailureKind
	Amount float64
	// Summary is what following did, as far as it can.
	*follow.Summary
	// Longer is how many seconds longer the program takes, travels included: with the
	// inertia of the axes where that is known, else by feeds alone.
	Longer float64
	// SlowPart is the part of the burned length that goes more than a tenth slower than in
	// the original, and Dark that under power that does not follow the speed; 0 where
	// inertia is not known.
	SlowPart, Dark float64
	// Enough is the Z rate in mm/min that would do without slowing burns,
	// where Z is too slow; 0 where it is not, or none would.
	Enough float64
	// EvenFeed is the feed in mm/min up to which all burns would go evenly, where some do
	// not; 0 where none does not, or none would.
	EvenFeed float64
}
