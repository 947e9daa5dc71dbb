package verify

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
)

// maxFailures is how many failures are kept; all are counted. A list on a
// screen is read no further.
const maxFailures = 20

// Result is what was found of a program.
type Result struct {
	// Blocks counts the lines of the checked program, Burns its burns with
	// their length over XY, Travels its other motions.
	Blocks, Burns, Travels int
	BurnLengthMM           float64
	// First is where the first burn begins, with the Z that it is programmed at: 0 where
	// no original tells it. Nil where nothing burns.
	First *machine.Point
	// Work is the work offset in force there, 0 where the program selects none, and Shifted
	// tells that it has put places off besides (G92). Extent is that of the burns over XY.
	Work    machine.GCode
	Shifted bool
	Extent  orb.Bound
	// Frame says what must be true of the bench for the places that were checked; it is
	// among the notes.
	Frame []string
	// Corrected tells that Z is elsewhere on burns than the original has it.
	Corrected bool
	// BurnsOut counts the burns that leave the depth.
	BurnsOut int
	// EdgeBurns counts burns off the surface that the options let pass.
	EdgeBurns int
	// Unchecked counts the travels of which it was not checked whether they are
	// clear all the way.
	Unchecked int
	// Rules are what was found by the rules about burns, by their number from 1; what none
	// of them is for is that of number 0.
	Rules []Ruled
	// Defocus is the greatest defocus of a burn, against the wanted one: minus is nearer.
	// Where there are rules, it is that which spends the greatest part of what may be
	// spent there. Allowed is the depth there, of which Part is that part.
	Defocus focus.Extreme
	Allowed focus.Depth
	Part    float64
	// Less is by how much either side of the depth is less there than where heights are
	// surest, in mm: Defocus is then where most of the depth is spent, with that.
	Less float64
	// Lowest and Highest are the extremes of the surface under burns.
	Lowest, Highest focus.Extreme
	// Nearest is how near the lens comes to the surface under the beam, over
	// burns and travels, against best focus: minus is nearer. What the original
	// lifts Z over a burn does not count.
	Nearest focus.Extreme
	// ZMinMM and ZMaxMM are the range of Z over all moves as written, and
	// ZTravelMM the sum of its changes.
	ZMinMM, ZMaxMM, ZTravelMM float64
	// PeakZRate is the greatest speed of Z on a burn, and ZSpeedStep the
	// greatest change of that speed where one burn goes over into the next,
	// both in mm/min.
	PeakZRate, ZSpeedStep float64
	// Seconds is the program's time, dwells included, and SecondsOriginal that of the
	// original, 0 where there is none.
	Seconds, SecondsOriginal float64
	// Failures are the first 20, and FailureCount counts all.
	Failures     []Violation
	FailureCount int
	// Like counts those that one of Failures stands for beside itself.
	Like int
	// Hints say in lines what may bring about that it holds.
	Hints []string
	// Notes say what could not be checked, one line each.
	Notes []string
}

// Holds reports whether nothing failed.
func (r *Result) Holds() bool { return r.FailureCount == 0 }

// Kind is a kind of violation, in words for people: %s stands for the amount.
// Where it has none, a comment says what it is.
type Kind string

// The kinds of violations.
const (
	NoBurn       Kind = "nothing burns at all"
	TooNear      Kind = "burn nearer than the depth allows, by %s mm"
	TooFar       Kind = "burn further than the depth allows, by %s mm"
	OffSurface   Kind = "burn off the surface, by %s mm"
	OverHole     Kind = "burn over missing heights, for %s mm"
	NotClear     Kind = "travel too close to the stock, by %s mm"
	ZBelow       Kind = "Z below the machine's range, by %s mm"
	ZAbove       Kind = "Z above the machine's range, by %s mm"
	OutOfReach   Kind = "beyond the reach of X and Y, by %s mm"
	ZTooFast     Kind = "Z has to move at %s mm/min"
	FeedTooHigh  Kind = "feed of %s is above the machine's"
	ZMoved       Kind = "focus moves where it must not, by %s mm"
	OffPath      Kind = "path differs from the original by %s mm"
	Missing      Kind = "missing here"        // mm of a move, s of a dwell
	Added        Kind = "not in the original" // the same
	AddedBurn    Kind = "not in the original, and the beam can fire"
	Mode         Kind = "rapid and feed move differ from the original"
	BeamDiffers  Kind = "beam differs from the original"
	PowerDiffers Kind = "power differs from the original" // in the program's unit
	DoseDiffers  Kind = "power over speed differs from the original by %s %%"
	PowerLow     Kind = "power of %s is below the least that the source gives"
	DwellDiffers Kind = "dwell differs from the original by %s s"
	TooFast      Kind = "faster over XY than the original by %s %%"
	TooSlow      Kind = "slower over XY than allowed, by %s %% of the original"
	WordDiffers  Kind = "word differs from the original"
	EndDiffers   Kind = "ends in another state than the original"
	FocusDiffers Kind = "the focus that is written into Z is not the list's, by %s mm"
	FocusPoint   Kind = "the focus is not set where the list says" // mm over XY, or of height
	ToldDiffers  Kind = "the operator is told otherwise than in the list"
	OrderDiffers Kind = "burns come in another order than in the original"
	NoWait       Kind = "the program does not wait (M0)"
	Unlisted     Kind = "a program that is not in the list"
	HeadClose    Kind = "tip of the head too close to what stands about it, by %s mm"
)

// Violation is one thing that does not hold.
type Violation struct {
	Kind Kind
	// Line is in the checked program, OriginalLine in the original; 0 where
	// there is none.
	Line, OriginalLine int
	// X and Y are the place, NaN where there is none.
	X, Y float64
	// Amount is as Kind says, NaN where there is none.
	Amount float64
	// Detail says more, and may be empty.
	Detail string
	// Unproven tells that no point was found outside, but none could be
	// ruled out: Amount is the most that it may be.
	Unproven bool
}

// String returns one line for people, as in "line 12 (original 9): burn
// nearer than the depth allows, by 0.312 mm, at X10.5 Y3".
func (f Violation) String() string {
	var b strings.Builder
	switch {
	case f.Line > 0 && f.OriginalLine > 0:
		fmt.Fprintf(&b, "line %d (original %d): ", f.Line, f.OriginalLine)
	case f.Line > 0:
		fmt.Fprintf(&b, "line %d: ", f.Line)
	case f.OriginalLine > 0:
		fmt.Fprintf(&b, "original line %d: ", f.OriginalLine)
	}
	text := string(f.Kind)
	switch {
	case f.Kind == FeedTooHigh:
		text = fmt.Sprintf(text, phrase.Feed(f.Amount))
	case strings.Contains(text, "%s"):
		text = fmt.Sprintf(text, Number(f.Amount))
	}
	b.WriteString(text)
	if f.Unproven {
		b.WriteString(" at most (could not be ruled out)")
	}
	if f.Detail != "" {
		b.WriteString(": " + f.Detail)
	}
	if !math.IsNaN(f.X) && !math.IsNaN(f.Y) {
		fmt.Fprintf(&b, ", at X%s Y%s", Number(f.X), Number(f.Y))
	}
	return b.String()
}

// shownDecimals are those of messages: a micrometre is what programs are
// written to. An amount below is shown in two digits.
const shownDecimals = 3

// Number spells a value without needless zeros.
func Number(v float64) string {
	if a := math.Abs(v); a > 0 && a < math.Pow10(-shownDecimals) {
		return phrase.Digits(v, 2)
	}
	return phrase.Trimmed(v, shownDecimals)
}

// Fail counts a failure, and keeps it while there is room.
func (r *Result) Fail(f Violation) {
	r.FailureCount++
	if len(r.Failures) < maxFailures {
		r.Failures = append(r.Failures, f)
	}
}

// Note adds a note.
func (r *Result) Note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}
