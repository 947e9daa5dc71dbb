package verify

import (
	"fmt"
	"math"

	"sagitta/internal/machine"
)

// Step is what a program does next.
type Step struct {
	Kind StepKind
	Line int
	// M is the motion or dwell; of a word only where it stands, and the power.
	M machine.Move
	// OverXY tells a motion over XY: one with a length there, or one from or
	// to an unknown place.
	OverXY bool
	// Known reports whether all axes are known after it, and FindsZ that Z was
	// not before.
	Known, FindsZ bool
	// Beam is that during the step, at the end of the program that after it.
	Beam machine.Beam
	// Tool is the number of the tool word in force, -1 before the first.
	Tool int
	// Inches and Inverse are the modes of G20 and G93.
	Inches, Inverse bool
	// WordOff tells that a word which puts the beam off is in force, whatever the
	// power.
	WordOff bool
	// Word is the number of an M word, and Optional whether its line begins
	// with "/". OfBeam and OfAir tell that it switches the beam, or air and coolant.
	// Said is another word than M: a tool, an offset that is stored, or a line for
	// the controller alone.
	Word          int64
	Said          string
	Optional      bool
	OfBeam, OfAir bool
	// Work is the work offset in force, 540 for G54; Path the path mode, 0 before
	// one is said, with its P in mm.
	Work, Path machine.GCode
	PathP      float64
	// Mist and Flood report whether M7 and M8 are in force.
	Mist, Flood bool
	// Halted tells of a motion or dwell that since the one before a word has waited or
	// ended the program, and Switched that a word has been said that switches the beam.
	Halted, Switched bool
	// Unplaced tells of a motion that the program has not said where it comes from, also
	// where that is known from elsewhere.
	Unplaced bool
	// Stops tells a word that acts after motion: one that waits or ends the
	// program.
	Stops bool
}

// StepKind is a kind of step.
type StepKind uint8

// The kinds of steps.
const (
	AtEnd StepKind = iota
	Motion
	Dwell
	Word
)

// InPlace reports whether the step is a motion of the focus alone, or a mark
// without length.
func (s *Step) InPlace() bool { return s.Kind == Motion && !s.OverXY }

// Lit reports whether the beam is on while nothing is burned: in a travel, or
// at a word that waits or ends the program.
func (s *Step) Lit() bool {
	return s.Beam == machine.On && (s.Kind == Motion && !s.M.Burn || s.Stops || s.Waits())
}

// Waits reports whether the step is a word that waits for the operator, as M6 does for
// another tool.
func (s *Step) Waits() bool {
	return s.Kind == Word && (s.Stops && !s.Ends() || s.Word == 6 && !s.OfBeam)
}

// Ends reports whether the step is a word that ends the program.
func (s *Step) Ends() bool { return s.Kind == Word && (s.Word == 2 || s.Word == 30) }

// dz is how far Z rises.
func (s *Step) dz() float64 { return s.M.To.Z - s.M.From.Z }

// String says what the step is.
func (s *Step) String() string {
	switch {
	case s.Said != "":
		return s.Said
	case s.Kind == Word:
		return fmt.Sprintf("M%d", s.Word)
	case s.Kind == Dwell:
		return fmt.Sprintf("a dwell of %s s", Number(s.M.Seconds))
	case s.InPlace() && s.dz() == 0:
		return "a mark without length"
	case s.InPlace():
		return fmt.Sprintf("a move of Z by %s mm", Number(s.dz()))
	case s.M.Burn:
		return fmt.Sprintf("a burn of %s mm", Number(s.M.Length))
	}
	return fmt.Sprintf("a travel of %s mm", Number(s.M.Length))
}

// SameWord reports whether two M words, or what is said beside, are the same.
func (s *Step) SameWord(o *Step) bool {
	return s.Kind == o.Kind && s.Word == o.Word && s.Said == o.Said && s.Optional == o.Optional
}

// SamePath reports whether two steps are under the same path control.
func (s *Step) SamePath(o *Step) bool {
	return s.Path == o.Path && math.Abs(s.PathP-o.PathP) <= placeSlackMM
}

// size is the step's length in mm, or its time in s.
func (s *Step) size() float64 {
	switch {
	case s.Kind == Dwell:
		return s.M.Seconds
	case s.InPlace():
		return s.dz()
	}
	return s.M.Length
}
