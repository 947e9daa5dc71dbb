package recheck

import (
	"cmp"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// touchMM is the standard uncertainty of one touch in mm where the surface's file does
// not say how its heights scatter: that of a dial gauge on bare stock (common practice,
// no source).
const touchMM = 0.02

// Allowance is by how much stock may lie otherwise than it was measured, in mm, and from
// what that follows.
type Allowance struct {
	MM   float64
	From string
	// Less is by how much more where a height has a greater standard uncertainty than where
	// heights are surest; nil where all are as sure.
	Less func(errorMM float64) float64
}

// At is by how much it may lie otherwise at a place of program XY.
func (a *Allowance) At(on *surface.Placed, x, y float64) float64 {
	if a.Less == nil {
		return a.MM
	}
	return a.MM + a.Less(on.ErrorAt(x, y))
}

// Allowed is what bench and surface take off the depth of a lens (see focus.Budget): so
// much is reckoned with already. Without a lens it is twice the error of the surface, and
// what a touch scatters by, as far as its file tells, else 0.
func Allowed(taken focus.Budget, noiseMM float64, lens bool) Allowance {
	noise := cmp.Or(noiseMM, touchMM)
	less := taken.Less
	if !lens {
		less = func(errorMM float64) float64 { return focus.CoverageFactor * max(0, errorMM-taken.SurfaceError.MM) }
	}
	if taken.GreatestError.MM == 0 {
		less = nil
	}
	if lens && taken.Uncertainty() > noise {
		return Allowance{taken.Uncertainty(), "what is taken off the lens's depth", less}
	}
	return Allowance{Less: less, MM: focus.CoverageFactor*taken.SurfaceError.MM + noise, From: "twice the surface's error of " + phrase.Short(taken.SurfaceError.MM) + " mm, and " + phrase.Short(noise) + " mm of a touch"}
}
