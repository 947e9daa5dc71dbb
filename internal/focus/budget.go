package focus

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
)

// CoverageFactor widens a combined standard uncertainty to one that holds for
// about 95 of 100 places. Source: JCGM 100 (the GUM), 6.3.3, k = 2.
const CoverageFactor = 2

// Combine gives the combined standard uncertainty of independent standard
// uncertainties in one unit: the root of the sum of their squares. Source:
// JCGM 100 (the GUM), equation 11a with sensitivities of 1.
func Combine(u ...float64) float64 {
	var c float64
	for _, v := range u {
		c = math.Hypot(c, v)
	}
	return c
}

// Term is one amount of a budget, in mm, zero or more, and where it came from
// (a file, a field, an option), for people.
type Term struct {
	MM   float64
	From string
}

// Budget is what a lens allows and what uses it up.
type Budget struct {
	// Lens is the depth of the lens, and LensFrom where it came from.
	Lens     Depth
	LensFrom string
	// SurfaceError is the standard uncertainty of a height read from the surface, the noise
	// of those measured included; FocusSetting that of setting the focus at the datum, and
	// DepthError that of the lens's depth.
	SurfaceError, FocusSetting, DepthError Term
	// GreatestError is that of the surface where heights are least sure, where they are not
	// all as sure: SurfaceError is then the least there is, and what is more is taken off
	// place by place.
	GreatestError Term
	// Backlash is the lost motion of the focus axis, and HalfDecimal half of
	// the last decimal that is written. Neither is random: the greatest
	// amount is taken off.
	Backlash, HalfDecimal Term
}

// HalfDecimal is what rounding takes off a depth where a program may be in
// either unit: half the coarser last decimal, and half the resolution of the
// axis in mm where that is known and coarser.
func HalfDecimal(decimalsMM, decimalsInch int, resolutionMM *float64) Term {
	half := math.Max(math.Pow10(-decimalsMM), 25.4*math.Pow10(-decimalsInch)) / 2
	if resolutionMM != nil && *resolutionMM/2 > half {
		return Term{MM: *resolutionMM/2 + half, From: "z_resolution_mm"}
	}
	return Term{MM: half, From: "decimals"}
}

// Purpose is what a usable depth is for.
type Purpose uint8

const (
	// Checking takes off the uncertainty alone: what a program has lost by
	// rounding shows in the program itself.
	Checking Purpose = iota
	// Writing also takes off backlash and half the last decimal.
	Writing
)

// Entry is a line of the table of terms.
type Entry struct {
	Name string
	Term
}

// random is how many of the terms are standard uncertainties.
const random = 3

// terms gives those that count, with their names: standard uncertainties first.
func (b Budget) terms(p Purpose) []Entry {
	all := []Entry{
		{"error of the surface", b.SurfaceError},
		{"setting of the focus", b.FocusSetting},
		{"error of the depth", b.DepthError},
		{"backlash", b.Backlash},
		{"half the last decimal", b.HalfDecimal},
	}
	if p == Checking {
		return all[:random]
	}
	return all
}

// Uncertainty is U in mm: CoverageFactor times the combined standard
// uncertainty of surface error, focus setting and the depth itself.
func (b Budget) Uncertainty() float64 {
	return CoverageFactor * Combine(b.SurfaceError.MM, b.FocusSetting.MM, b.DepthError.MM)
}

// Less is by how much more is taken off each side, in mm, where the standard uncertainty
// of a height is so much instead of SurfaceError.
func (b Budget) Less(errorMM float64) float64 {
	u := b.Uncertainty()
	b.SurfaceError.MM = max(b.SurfaceError.MM, errorMM)
	return b.Uncertainty() - u
}

// MostLess is Less where heights are least sure.
func (b Budget) MostLess() float64 { return b.Less(b.GreatestError.MM) }

// Lost is what is taken off each side of the lens's depth, in mm.
func (b Budget) Lost(p Purpose) float64 {
	lost := b.Uncertainty()
	for _, t := range b.terms(p)[random:] {
		lost += t.MM
	}
	return lost
}

// Usable gives the depth of the lens less what is lost. The error is
// ErrSpent where a side has nothing left, and a plain one where a term is
// negative, infinite or NaN.
func (b Budget) Usable(p Purpose) (Depth, error) {
	if err := b.Lens.Check(); err != nil {
		return Depth{}, err
	}
	var largest Entry
	most := 0.0 // of what terms take on their own
	for i, t := range b.terms(p) {
		if !(t.MM >= 0) || math.IsInf(t.MM, 1) {
			return Depth{}, fmt.Errorf("%s: %g mm must be zero or more, and finite", t.Name, t.MM)
		}
		takes := t.MM
		if i < random {
			takes *= CoverageFactor
		}
		if takes > most {
			largest, most = t, takes
		}
	}
	lost := b.Lost(p)
	left := Depth{b.Lens.Near - lost, b.Lens.Far - lost}
	if left.Check() == nil {
		return left, nil
	}
	from := ""
	if largest.From != "" {
		from = ", from " + largest.From
	}
	// As in the table: a standard uncertainty is not multiplied. A tenth of a
	// micrometre is finer than any term is known.
	return Depth{}, &diag.Error{Kind: diag.Setting, Cause: ErrSpent,
		What: fmt.Sprintf("nothing remains of the lens's depth of %s mm: %s mm of each side is lost, most by the %s (%s mm%s)",
			b.Lens, phrase.Trimmed(lost, 4), largest.Name, phrase.Trimmed(largest.MM, 4), from)}
}

// ErrSpent is that nothing of the lens's depth remains on a side.
var ErrSpent = errors.New("nothing remains of the lens's depth")

// Table gives the budget line by line, for printing: the lens's two sides, the
// standard uncertainties as they were given, the expanded uncertainty made of
// them, for Writing the linear terms, and the usable two sides (negative or
// zero where nothing remains).
func (b Budget) Table(p Purpose) []Entry {
	terms, lost := b.terms(p), b.Lost(p)
	return slices.Concat(
		[]Entry{{"lens, nearer", Term{b.Lens.Near, b.LensFrom}}, {"lens, further", Term{b.Lens.Far, b.LensFrom}}},
		terms[:random],
		[]Entry{{"expanded uncertainty", Term{b.Uncertainty(), "2 · root of the sum of the squares (JCGM 100)"}}},
		terms[random:],
		[]Entry{{"usable, nearer", Term{MM: b.Lens.Near - lost}}, {"usable, further", Term{MM: b.Lens.Far - lost}}})
}
