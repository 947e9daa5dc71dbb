package record

import (
	"fmt"
	"math"

	"sagitta/internal/focus"
	"sagitta/internal/optics"
)

// StrokesOfDetail is how many spots must fit side by side into a detail that
// is to stay legible, where the record has no test of its own: the three bars
// and two gaps of a capital E, each a fifth of its height, as on the letters
// of sight charts (common practice, no source). It is an assumption, and
// DepthFor says where it is used.
const StrokesOfDetail = 5

// CapHeightMM gives the height in mm of capitals of a type size in points of
// 25.4/72 mm, and the name of the font that is meant: "liberation" for
// Liberation Sans, whose capitals are 1409/2048 of the size, or "dejavu" for
// DejaVu Sans, 1493/2048 (from the fonts' own figures). false for another.
func CapHeightMM(points float64, font string) (mm float64, name string, ok bool) {
	const pointMM = 25.4 / 72
	switch font {
	case "liberation":
		return points * pointMM * 1409 / 2048, "Liberation Sans", true
	case "dejavu":
		return points * pointMM * 1493 / 2048, "DejaVu Sans", true
	}
	return 0, "", false
}

// Beam gives the waist and Rayleigh length in mm of a valid record, whether
// written there or following from its other fields; false where they do not.
func (l *Lens) Beam() (waistMM, rayleighMM float64, ok bool) {
	zR, _ := l.Rayleigh()
	switch {
	case zR == nil:
		return 0, 0, false
	case l.WaistUM != nil:
		return *l.WaistUM / 1000, *zR, true
	case l.WavelengthNM != nil && l.M2 != nil:
		return optics.WaistOf(*zR, *l.M2, *l.WavelengthNM), *zR, true
	}
	return 0, 0, false
}

// Spot gives the diameter at best focus in mm of a valid record, as written or from its
// other fields; false where neither.
func (l *Lens) Spot() (mm float64, ok bool) {
	if l.WaistUM != nil {
		return *l.WaistUM / 1000, true
	}
	mm, _, ok = l.Beam()
	return mm, ok
}

// Quality gives M² of a valid record, as written or from its other fields;
// false where neither.
func (l *Lens) Quality() (m2 float64, ok bool) {
	if l.M2 != nil {
		return *l.M2, true
	}
	if l.WaistUM != nil && l.RayleighMM != nil && l.WavelengthNM != nil {
		return optics.Quality(*l.WaistUM/1000, *l.RayleighMM, *l.WavelengthNM), true
	}
	return 0, false
}

// DepthFor gives the depth of a valid record within which a detail of a height
// in mm stays legible; false where the record does not tell or there is none,
// with the reason in From.
//
// A tested depth holds for the detail it was tested with and for all coarser
// ones; it is never widened. For finer ones the spot may be, in proportion, as
// wide as at the ends of the tested depth, for which the beam must be known.
// Without a test the spot may be 1/StrokesOfDetail of the detail.
func (l *Lens) DepthFor(detailMM float64) (LensDepth, bool) {
	waist, zR, beam := l.Beam()
	if l.DepthMM == nil {
		if !beam {
			_, missing := l.Rayleigh()
			if missing == "rayleigh_mm" {
				missing = "no depth_mm, and the waist is not known"
			}
			return LensDepth{From: missing}, false
		}
		half := reach(waist, zR, detailMM/StrokesOfDetail)
		return sides(half, half, fmt.Sprintf("the beam's fields, for a spot of 1/%d of the detail", StrokesOfDetail))
	}
	near, far := -l.DepthMM[0], l.DepthMM[1]
	tested := l.SmallestDetailMM
	switch {
	case tested == nil:
		return LensDepth{Depth: focus.Depth{Near: near, Far: far}, From: "depth_mm; with which detail it was seen is not in the record"}, true
	case detailMM >= *tested:
		return LensDepth{Depth: focus.Depth{Near: near, Far: far}, From: fmt.Sprintf("depth_mm, seen with a detail of %g mm", *tested)}, true
	case !beam:
		return LensDepth{From: fmt.Sprintf("depth_mm was seen with a detail of %g mm, and without the beam's fields it tells nothing of finer ones", *tested)}, false
	}
	part := detailMM / *tested
	side := func(z float64) float64 {
		return math.Min(z, reach(waist, zR, part*optics.Diameter(waist, zR, z)))
	}
	return sides(side(near), side(far), fmt.Sprintf("depth_mm, seen with a detail of %g mm, and the beam's fields for a spot less wide in proportion", *tested))
}

// reach is how far from the waist a spot is no wider than limit; 0 where it
// never is.
func reach(waist, zR, limit float64) float64 {
	if k := limit / waist; k > 1 {
		return optics.HalfDepth(zR, k)
	}
	return 0
}

// sides is an assumed depth, or none where it is not above zero.
func sides(near, far float64, from string) (LensDepth, bool) {
	if !(near > 0) || !(far > 0) {
		return LensDepth{Assumed: true, From: "the spot is too wide for it even at best focus: " + from}, false
	}
	return LensDepth{focus.Depth{Near: near, Far: far}, true, from}, true
}
