package follow

import (
	"fmt"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// FailureKind says what a place asks that cannot be given.
type FailureKind uint8

const (
	// OffSurface: a burn beyond the measured area.
	OffSurface FailureKind = iota
	// OverHole: a burn over a missing height.
	OverHole
	// TooSteep: Z cannot keep up even with the whole depth spent and the
	// burn as slow as allowed. Amount is the rate needed in mm/min.
	TooSteep
	// TooDeep: one setting must serve heights further apart than the
	// depth. Amount is the part of the depth that would be needed.
	TooDeep
	// OutOfRange: Z would leave the profile's range, or that range and the
	// surface leave nothing. Amount is by how much, in mm.
	OutOfRange
	// NoRoom: the surface bends so much that the path would have to turn
	// closer than cuts may stand. Amount is by how much it is out, in mm.
	NoRoom
	// NotFlat: Z is set by hand, and the burn (or travel) does not hold at
	// the rest value. Amount is by how much in mm.
	NotFlat
	// NoWay: there is no place where Z could go to height before the burn.
	// Amount is how far it is from there, in mm.
	NoWay
	// TooLong: a line is written longer than the controller takes. Amount
	// is its length in characters.
	TooLong
	// NoStroke: a rapid that does not go straight has no place before or after it
	// where Z could rise or come down. Amount is by how much, in mm.
	NoStroke
	// HeadClose: the head cannot come here without its tip being nearer to
	// the stock, or to a box, than its least gap. Amount is by how much, in mm.
	HeadClose
	// PowerUnsaid: the burn would have to be slowed, and no power was said that
	// could go with its feed. Amount is the part of its speed that it would lose.
	PowerUnsaid
	// PowerLow: the burn would have to be slowed so far that its power would be
	// below the least that the source gives. Amount is the same.
	PowerLow
	// NotSure: heights are so unsure that not even best focus is certain to be within the
	// depth. Amount is by how much, in mm either way.
	NotSure
	// Apart: burns of two kinds meet, Last being the line of the second, and no Z
	// serves both. Amount is by how much, in mm.
	Apart
	// OutOfReach: the program itself goes where X and Y do not. Amount is by how
	// much, in mm.
	OutOfReach
)

// Failure is a place where the job cannot be done.
type Failure struct {
	Line   int     // of the program
	Last   int     // last line of a run of burns; 0 for a single line
	X, Y   float64 // program XY, mm
	Kind   FailureKind
	Amount float64
	// Count is how many of its kind it stands for, the first of which it is; 0 for
	// itself alone.
	Count int
}

// says are the failures in words, of the place, the amount and the last line.
var says = [...]string{
	OffSurface:  "a burn leaves the surface %[1]s",
	OverHole:    "a burn passes over a hole in the surface %[1]s",
	TooSteep:    "the surface asks for a Z rate of %.1[2]f mm/min %[1]s, even with the whole depth spent",
	TooDeep:     "burns up to line %[3]d, at one Z, need %.2[2]f times the usable depth",
	OutOfRange:  "the range of Z is exceeded by %.3[2]f mm %[1]s",
	NoRoom:      "the surface bends too sharply to follow: out by %.4[2]f mm %[1]s",
	NotFlat:     "does not run flat: out by %.3[2]f mm %[1]s",
	NoWay:       "Z has no place to move by %.3[2]f mm before the burn %[1]s: put the beam on later, after the work offset",
	NoStroke:    "G0 does not go straight on this bench (rapids_straight), and Z has no place to move by %.3[2]f mm %[1]s: put the beam off, or its power to 0, before and after the travel",
	HeadClose:   "the head cannot come here: its tip would be too close to what stands about it by %.3[2]f mm %[1]s",
	NotSure:     "heights are too unsure %[1]s: even in best focus a burn may be out by %.3[2]f mm",
	Apart:       "this burn and that of line %[3]d meet %[1]s, and by their rules no Z serves both: %.3[2]f mm are missing",
	OutOfReach:  "this goes beyond the reach of the axes (x_mm, y_mm) by %.3[2]f mm %[1]s",
	PowerUnsaid: "the burn would have to be slowed by %.3[4]g %% %[1]s, and no power was said that could go with its feed: say it before",
	PowerLow:    "the burn would have to be slowed by %.3[4]g %% %[1]s, where its power would fall below the least that the source gives (power_least_pct)",
	TooLong:     "the line is written with %.0[2]f characters, more than the controller takes (line_max)",
}

// String says it in a line, without the file's name.
func (f Failure) String() string {
	if f.Count > 0 {
		return fmt.Sprintf("%s leave the surface, the first at X%.3f Y%.3f", phrase.Count(f.Count, "burn"), f.X, f.Y)
	}
	return fmt.Sprintf(says[f.Kind], fmt.Sprintf("at X%.3f Y%.3f", f.X, f.Y), f.Amount, f.Last, f.Amount*100)
}

// At returns the line.
func (f Failure) At() int { return f.Line }

// Uncovered is how a burn over no surface fails, nil where it does not; outside
// reports whether it is off the surface, where hold lets it pass.
func Uncovered(it *stream.Item, hold bool) (fail *Failure, outside bool) {
	pieces, kinds := it.Pieces(), [...]FailureKind{surface.Outside: OffSurface, surface.Hole: OverHole}
	for k := range pieces {
		where := pieces[k].Where
		if outside = outside || where == surface.Outside; where == surface.Hole || where == surface.Outside && !hold {
			at := it.Move.XY(pieces[k].S0)
			return &Failure{Line: it.Block.Line, X: at[0], Y: at[1], Kind: kinds[where]}, false
		}
	}
	return nil, outside
}

// unsure is how a burn fails over heights that no focus is sure to serve, nil where there
// are none.
func (o *Options) unsure(it *stream.Item) *Failure {
	var worst *surface.Piece
	depth := o.aim(it.Kind).Depth
	pieces := it.Pieces()
	for k := range pieces {
		if pc := &pieces[k]; beyondSure(pc, depth) && (worst == nil || pc.Less > worst.Less) {
			worst = pc
		}
	}
	if worst == nil {
		return nil
	}
	at := it.PlaceAt((worst.S0 + worst.S1) / 2)
	return &Failure{Line: it.LineAt((worst.S0 + worst.S1) / 2), X: at[0], Y: at[1], Kind: NotSure, Amount: float64(worst.Less) - (depth.Near+depth.Far)/2}
}

// beyondSure reports whether heights are so unsure that no focus is sure to serve them
// within a depth.
func beyondSure(pc *surface.Piece, d focus.Depth) bool { return float64(pc.Less) >= (d.Near+d.Far)/2 }

// Beyond is how an item fails that takes the head out of reach by itself, where it does
// so the most; nil where it does not. Along an axis where its place is not known there
// is nothing to say.
func Beyond(it *stream.Item, reach machine.Reach) *Failure {
	if !it.After.XKnown {
		reach.X = nil
	}
	if !it.After.YKnown {
		reach.Y = nil
	}
	if reach.X == nil && reach.Y == nil || it.Move.Kind == machine.Still {
		return nil
	}
	line := it.Block.Line
	var at [2]float64
	by := 0.0
	if !it.IsRun() {
		at, by = reach.Worst(&it.Move)
	} else {
		for k, v := range it.Lines() {
			if out := reach.Beyond(v.X, v.Y); out > by {
				line, at, by = it.Block.Line+k, [2]float64{v.X, v.Y}, out
			}
		}
	}
	if by == 0 {
		return nil
	}
	return &Failure{Line: line, X: at[0], Y: at[1], Kind: OutOfReach, Amount: by}
}

// UnmetError says that the job cannot be done as asked, with the places.
type UnmetError = diag.UnmetList[Failure]

// failures gathers where the job cannot be done. A move can fail at each of its
// gates, and in each horizon that has it: it counts once, with its worst.
type failures struct{ UnmetError }

func (f *failures) at(line int, xy [2]float64, kind FailureKind, amount float64) {
	f.add(Failure{Line: line, X: xy[0], Y: xy[1], Kind: kind, Amount: amount})
}

func (f *failures) add(x Failure) {
	if was := f.Add(int(x.Kind), x); was != nil && x.Amount > was.Amount {
		was.Amount, was.X, was.Y = x.Amount, x.X, x.Y
	}
}
