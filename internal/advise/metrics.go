package advise

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// Metrics are what a program and its surface are like.
type Metrics struct {
	// Burns and BurnLength are the number and length (mm) of burns, Seconds
	// the time of the program.
	Burns      int
	BurnLength float64
	Seconds    float64
	// Inertia tells that Seconds is with the inertia of the axes, and not by feeds alone.
	Inertia bool
	// Low and High are the extremes of the heights that burns see, and
	// Travel the highest that travels pass, less what the program lifts them over
	// the first burn, in mm over the datum: all as certified bounds.
	Low, High, Travel focus.Extreme
	// Lowest and Highest are those that one focus must serve: Low and High where heights
	// are all as sure, else further by what they are less sure by where they are.
	Lowest, Highest float64
	// ruled are the same by rule about burns, of those that no rule is for first.
	ruled []span
	// less is the most that they are less sure by.
	less float64
	// Outside counts burns off the surface, at the height of its edge.
	Outside int
	// Remarks are on the program that was read.
	stream.Remarks
	// Steep is where a burn meets the steepest stock, Degrees how much the
	// stock is tilted there; SteepLength is the length of burns on stock
	// tilted by SteepDegrees or more. All are of the gradients at the ends
	// and in the middle of stretches.
	Steep       focus.Extreme
	Degrees     float64
	SteepLength float64
	// Rows is what the rows of a raster are like, Rows.Length of them 0
	// where there is none.
	Rows Rows

	// OffZ tells that burns are programmed elsewhere than at Z0, or travels nearer to
	// the stock than that, and by hand that anything is: it cannot be checked without
	// the original.
	OffZ bool

	// First is where the first burn begins, as programmed.
	First machine.Point

	detail guess
	marks  *setup.Marks
	// firstZ is the programmed Z of the first burn, away from the stock. tip is the
	// model of a head whose tip is at the focus, nil where it is not known, and asked
	// what that asks of the focus at most, less the programmed Z.
	firstZ   float64
	tip      *clearance.Model
	asked    float64
	approach clearance.Approach
	// whole is the model before any piece has come free.
	whole *clearance.Model
	// closed are the burns that close on themselves.
	closed stream.Closed
	// pieces are what they cut free.
	pieces []surface.Box
}

// span are the heights that one focus must serve for burns of a rule; the least is above the
// greatest where there are none.
type span struct{ low, high float64 }

// any reports whether there are burns of the rule.
func (s *span) any() bool { return s.low <= s.high }

// Range is the difference of the heights that burns see, in mm.
func (j *Metrics) Range() float64 { return j.High.MM - j.Low.MM }

// seen says what heights one focus must serve.
func (j *Metrics) seen() string {
	text := fmt.Sprintf("the burns see %.3g mm of heights", j.Range())
	if more := j.Highest - j.Lowest - j.Range(); more > scanTolerance {
		text += fmt.Sprintf(" and ask for %.2g mm more where they are less sure", more)
	}
	return text
}

// SteepDegrees is from which tilt of the stock on a beam is pointed out: the
// spot is stretched by 1/cos, 3.5 percent there (common practice, no source).
const SteepDegrees = 15

// Stretch is by how much the spot is longer where the beam meets stock that is
// tilted by so many degrees.
func Stretch(degrees float64) float64 { return 1 / math.Cos(degrees*math.Pi/180) }

// standing is a head that keeps clear of all pieces from the beginning, as zones have it.
func (j *Metrics) standing(h *bench.Head) *bench.Head {
	if h == nil || h.FreedMM == nil {
		return h
	}
	all := *h
	all.FreedMM, all.Boxes = nil, slices.Concat(h.Boxes, j.pieces)
	return &all
}
