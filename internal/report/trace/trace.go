package trace

import "github.com/paulmach/orb"

// Range is a closed interval; Lo > Hi where it is empty.
type Range struct{ Lo, Hi float64 }

// Trace is what is kept of the path of one job: one program, or the programs of a set of
// zones in their order.
type Trace struct {
	Programs []Program
	// Stretches are the path in order, a few thousand at most: neighbours are
	// joined as often as there would be more.
	Stretches []Stretch
	Above     Above
	// Share is of the burned length by defocus, and Before the same as if the original
	// had run flat with the focus set at the datum, the wanted defocus included; nil without an
	// original.
	Share  Share
	Before *Share
	// Worst are the places where most of the depth is spent, the worst first: at most
	// ten, no two of them near each other along the path.
	Worst []Place
	// Waits are where the path stands still: some hundred at most, Waiting counts all.
	Waits   []Wait
	Waiting int
	// Bounds are those of all burns, and Travels those of all motion with them.
	Bounds, Travels orb.Bound
	// Seconds is what the whole path takes, and SecondsBefore what the original takes; 0
	// where there is none. Inertia tells that these times, and speeds and steps of Z, are with
	// the inertia of the axes, and not by feeds alone.
	Seconds, SecondsBefore float64
	Inertia                bool
	// ZStep is where the speed of Z steps most; its MMS is 0 where no step is known.
	ZStep ZStep
}

// Program is one of those of a job. Its depth and defocus are those of burns of which no rule
// says otherwise.
type Program struct {
	// Name is that of its file, and Lens what is burned with.
	Name, Lens string
	// FocusMM is where its focus is set, over the datum.
	FocusMM float64
	// Depth is the usable depth, Near and Far both above zero.
	Near, Far float64
	// DefocusMM is the wanted defocus D.
	DefocusMM float64
	// First is the index of its first stretch, and Seconds when it begins.
	First   int
	Seconds float64
	Lines   int
}

// Stretch is one of the path: a move or a part of one, or many that were joined. Its extremes
// are exact where most of the depth is spent of all, and what was searched for it has found;
// what is beyond the rest by next to nothing (see Keeper.Known) may be left out.
type Stretch struct {
	Program int
	// Line and LastLine are in the checked program, OriginalLine in the original, 0 where
	// there is none.
	Line, LastLine, OriginalLine int
	// At and Until are seconds from the job's beginning.
	At, Until float64
	// Burns tells that some of it burns, and Travels that some does not.
	Burns, Travels bool
	// C is the correction, Height that of the surface, and Defocus c - h - D. Of a joined
	// stretch, Height and Defocus are of its burns alone where it has any. Height and
	// Defocus are empty where there is no height.
	C, Height, Defocus Range
	// Less is by how much the depth is less at most, either side, for heights that are
	// less sure there.
	Less float64
	// Near and Far are what is usable of the depth for its burns, and WantedMM is their wanted
	// defocus D; of a travel, what it must keep to.
	Near, Far, WantedMM float64
	// Several tells that it stands for burns of which not all ask for the same: Near and Far
	// then leave as much of Defocus as is left of the burn that has least left, and WantedMM
	// says nothing. Any of these burns may have its c in May, and all may in Must, which may
	// be empty.
	Several   bool
	May, Must Range
	// ZSpeed is the greatest speed of Z of it, and ZStep the greatest step of that where a burn
	// of it begins at the end of another, at ZStepAt seconds; 0 where that is not known.
	ZSpeed, ZStep, ZStepAt float64
	// Slowed is the least share of the original's speed that a burn of it goes at, 1 where none
	// is slower.
	Slowed float64
	// From and To are its ends, and WorstAt where most of the depth is spent, on
	// WorstLine. Where nothing burns they are its beginning.
	From, To, WorstAt orb.Point
	WorstLine         int
	// Text is the program's line WorstLine; it may be cut short.
	Text string
	// BurnMM is how long it burns, over XY.
	BurnMM float64
}

// Above is what is burned as seen from above: as lines where they are few, and else by
// the cells of a lattice. One of Strokes and Cells is empty.
type Above struct {
	Strokes []Stroke
	Cells   *Cells
	// Travels are the ways between burns, thinned; none where there are too many to show.
	Travels []orb.LineString
}

// Stroke is a burned line over which defocus is as good as even.
type Stroke struct {
	Program, Line int
	Points        orb.LineString
	// Defocus is the one of greatest magnitude in parts of the usable depth of its side, minus
	// is nearer: beyond ±1 is out of focus.
	Defocus float64
	// C is the correction, its middle.
	C float64
}

// Cells are burned places by the cells of a lattice over Bounds, rows from the least y.
type Cells struct {
	Bounds orb.Bound
	NX, NY int
	// Defocus is as in a Stroke, NaN where nothing burns; C and Program as well. Line is
	// where the worst of it is.
	Defocus, C    []float32
	Program, Line []int32
}

// Share is the burned length by defocus, in parts of the usable depth of its side: bin k of
// n = len(MM) covers [-2 + 4k/n, -2 + 4(k+1)/n), the first and last have all beyond.
type Share struct {
	MM []float64
	// Within is the length within the depth, and Total all of it, those without a height
	// included.
	Within, Total float64
}

// Place is one where much of the depth is spent.
type Place struct {
	Program, Line, OriginalLine int
	At                          orb.Point
	// Defocus is in mm against the wanted one, Depth what is usable on that side there,
	// and Height that of the surface.
	Defocus, Depth, Height float64
	// Seconds is when it is burned.
	Seconds float64
	// Text is the line of the program; it may be cut short.
	Text string
}

// ZStep is a step of the speed of Z where one burn goes over into the next, at the beginning of
// a line. Steps between the chords that an arc is gone by count there as well.
type ZStep struct {
	MMS           float64
	Program, Line int
	At            orb.Point
	Seconds       float64
}

// Wait is where the path stands still with the beam off: a dwell, or a stop that waits for the
// operator.
type Wait struct {
	Program, Line int
	At            orb.Point
	// Seconds is when it begins to, and Lasts for how many.
	Seconds, Lasts float64
	// Stop tells that it waits for the operator, and Remark is the comment beside it.
	Stop   bool
	Remark string
}
