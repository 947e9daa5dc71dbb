package sheet

import (
	"fmt"

	"sagitta/internal/phrase"
)

// seams is what there is to say of where a zone's burns begin and end.
func (s *Set) seams(z *Zone) (notes []string) {
	if z.Shorter > 0 {
		notes = append(notes, fmt.Sprintf("%s run into or out of over less than is wanted, %.3f mm at the least, for want of room",
			countIs(z.Shorter, "seam"), z.ShortestMM))
	}
	switch {
	case s.Rehearsal:
	case !s.Paced:
		notes = append(notes, "which burns begin or end below 90 % of their feed is not known (accel_mm_s2)")
	case z.TooSlow == 0:
		notes = append(notes, "all burns begin and end at 90 % of their feed or more")
	default:
		text := fmt.Sprintf("%d of %s begin or end below 90 %% of their feed", z.TooSlow, phrase.Count(z.Unbroken, "unbroken burn"))
		if z.Darker > 0 {
			text += fmt.Sprintf(", and in %d the power does not follow the speed: they mark darker there", z.Darker)
		}
		notes = append(notes, text)
	}
	if text := s.spot(z.Lens); text != "" {
		notes = append(notes, text)
	}
	return notes
}

// countIs is a number of things as the subject of a sentence.
func countIs(n int, what string) string {
	if n == 1 {
		return phrase.Count(n, what) + " is"
	}
	return phrase.Count(n, what) + " are"
}

// spot says where the spot of a lens stands beside those of the others that are used, ""
// where it is the only one, or stands nowhere else.
func (s *Set) spot(lens int) string {
	used, apart := 0, false
	for i := range s.Lenses {
		if l := &s.Lenses[i]; l.Zones > 0 {
			used++
			apart = apart || l.SpotShift == nil || *l.SpotShift != [2]float64{}
		}
	}
	l := &s.Lenses[lens]
	switch shift := l.SpotShift; {
	case used < 2 || !apart:
		return ""
	case shift == nil:
		return "where the spot of this lens stands beside that of the others is not known (spot_shift_mm): their marks may miss each other by as much"
	case *shift == [2]float64{}:
		return "the spot of this lens stands where that of the reference lens does: no shift of the work zero for it"
	default:
		return fmt.Sprintf("the spot of this lens stands X%+.3f Y%+.3f mm beside that of the reference lens, and the program does not count that in: shift the work zero by X%+.3f Y%+.3f mm for it, or its marks lie off those of the other lenses by as much",
			shift[0], shift[1], 0-shift[0], 0-shift[1])
	}
}
