package surface_test

import (
	"strings"
	"testing"

	"sagitta/internal/surface"
)

// Of burns that a surface does not hold it is said where both are, and what would bring
// them together; inches only where they do.
func TestApart(t *testing.T) {
	s, err := surface.New([]float64{5, 95}, []float64{5, 50}, []float64{0, 1, 0, 1})
	if err != nil {
		t.Fatal(err)
	}
	area := func(x0, y0, x1, y1 float64) surface.Area {
		return surface.Area{Min: [2]float64{x0, y0}, Max: [2]float64{x1, y1}}
	}
	const in = 25.4
	for _, c := range []struct {
		name     string
		burns    surface.Area
		shift    [2]float64
		inches   bool
		want     string
		nor, too string
	}{
		{name: "another zero", burns: area(522, 310, 602, 345), want: "a --shift of 507 to 517 in X and 295 to 305 in Y", nor: "inches", too: "machine coordinates"},
		{name: "another zero, shifted", burns: area(522, 310, 602, 345), shift: [2]float64{10, 20}, want: "a --shift of 507 to 517 in X and 295 to 305 in Y"},
		{name: "just as large", burns: area(100, 100, 190, 145), want: "a --shift of 95 in X and 95 in Y"},
		{name: "beside a little", burns: area(40, 10, 120, 45), want: "a --shift of 25 to 35 in X and -5 to 5 in Y", too: "measure the rest"},
		{name: "further", burns: area(0, 0, 300, 45), want: "no shift brings them together", nor: "inches"},
		{name: "the other way", burns: area(522, 310, 602, 345), shift: [2]float64{-512, -300}, want: "--shift 512,300, the surface would hold them"},
		{name: "program in inches", burns: area(10/in, 10/in, 90/in, 45/in), want: "taken for inches the burns would lie on it"},
		{name: "no program in inches", burns: area(1, 1, 4, 2), inches: true, want: "a --shift of", nor: "inches the burns"},
		{name: "program in mm", burns: area(10*in, 10*in, 90*in, 45*in), inches: true, want: "taken for mm the burns would lie on it"},
		{name: "surface in inches", burns: area(5*in, 6*in, 90*in, 45*in), want: "taken for inches the surface would hold them"},
		{name: "surface in mm", burns: area(5/in, 6/in, 90/in, 45/in), inches: true, want: "taken for mm the surface would hold them"},
		{name: "a dot far off", burns: area(700, 700, 701, 701), want: "a --shift of", nor: "inches"},
	} {
		p, err := surface.Place(s, surface.Placement{ShiftX: c.shift[0], ShiftY: c.shift[1], Raw: true})
		if err != nil {
			t.Fatal(err)
		}
		lines := surface.Apart(p, c.burns, c.inches)
		all := strings.Join(lines, "\n")
		if len(lines) != 2 || !strings.HasPrefix(lines[0], "the burns reach over "+c.burns.String()+", the surface over X ") ||
			!strings.Contains(lines[1], c.want) || c.nor != "" && strings.Contains(all, c.nor) || !strings.Contains(all, c.too) {
			t.Errorf("%s: %s", c.name, all)
		}
	}
}
