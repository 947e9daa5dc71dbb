package sheet

import (
	"slices"
	"strings"
	"testing"
)

// The sheet tells where burns are too slow, where that is known, where seams have too
// little room, and where the spots of two lenses stand.
func TestSeams(t *testing.T) {
	for _, c := range []struct {
		set  Set
		zone Zone
		want []string // what the notes begin with
	}{
		{Set{}, Zone{}, []string{"which burns begin or end below 90 % of their feed is not known"}},
		{Set{Rehearsal: true}, Zone{Unbroken: 3}, nil},
		{Set{Paced: true}, Zone{Unbroken: 3}, []string{"all burns begin and end at 90 %"}},
		{Set{Paced: true}, Zone{Unbroken: 30, TooSlow: 4}, []string{"4 of 30 unbroken burns begin or end below 90 % of their feed."}},
		{Set{Paced: true}, Zone{Unbroken: 30, TooSlow: 4, Darker: 2},
			[]string{"4 of 30 unbroken burns begin or end below 90 % of their feed, and in 2 the power does not follow the speed: they mark darker there."}},
		{Set{Paced: true}, Zone{Shorter: 2, ShortestMM: 0.5},
			[]string{"2 seams are run into or out of over less than is wanted, 0.500 mm at the least, for want of room.", "all burns"}},
		{Set{Paced: true}, Zone{Shorter: 1}, []string{"1 seam is run into", "all burns"}},
		{Set{Paced: true, Lenses: []Lens{{Zones: 1, SpotShift: &[2]float64{0.2, 0}}}}, Zone{}, []string{"all burns"}},
		{Set{Paced: true, Lenses: []Lens{{Zones: 1, SpotShift: &[2]float64{0.2, 0}}, {SpotShift: &[2]float64{}}}}, Zone{}, []string{"all burns"}}, // not used
		{Set{Paced: true, Lenses: []Lens{{Zones: 1, SpotShift: &[2]float64{}}, {Zones: 1, SpotShift: &[2]float64{}}}}, Zone{}, []string{"all burns"}},
		{Set{Paced: true, Lenses: []Lens{{Zones: 1, SpotShift: &[2]float64{0.2, 0}}, {Zones: 2, SpotShift: &[2]float64{}}}}, Zone{},
			[]string{"all burns", "the spot of this lens stands X+0.200 Y+0.000 mm beside that of the reference lens, and the program does not count that in: shift the work zero by X-0.200 Y+0.000 mm"}},
		{Set{Paced: true, Lenses: []Lens{{Zones: 1, SpotShift: &[2]float64{0.2, 0}}, {Zones: 2, SpotShift: &[2]float64{}}}}, Zone{Lens: 1},
			[]string{"all burns", "the spot of this lens stands where that of the reference lens does"}},
		{Set{Paced: true, Lenses: []Lens{{Zones: 1}, {Zones: 2, SpotShift: &[2]float64{}}}}, Zone{}, []string{"all burns", "where the spot of this lens stands beside that of the others is not known"}},
	} {
		if len(c.set.Lenses) == 0 {
			c.set.Lenses = []Lens{{Zones: 1}}
		}
		got := c.set.seams(&c.zone)
		if !slices.EqualFunc(got, c.want, func(have, want string) bool { return strings.HasPrefix(have+".", want) }) {
			t.Errorf("%+v: %q, want %q", c.zone, got, c.want)
		}
	}
}
