package recheck

import (
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
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
}

// Allowed is what bench and surface take off the depth of a lens (see focus.Budget): so
// much is reckoned with already. Without a lens it is twice the error of the surface, and
// what its heights scatter by.
func Allowed(taken focus.Budget, lens bool) Allowance {
	noise := taken.Noise.MM
	if taken.Noise.MM == 0 {
		noise = touchMM
	}
	if lens && taken.Uncertainty() > noise {
		return Allowance{taken.Uncertainty(), "what is taken off the lens's depth"}
	}
	return Allowance{focus.CoverageFactor*taken.SurfaceError.MM + noise,
		"twice the surface's error of " + phrase.Short(taken.SurfaceError.MM) + " mm, and " + phrase.Short(noise) + " mm of a touch"}
}
