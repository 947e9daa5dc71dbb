package setup

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What a person turns brings the focus to where it is to be, whatever moves: up and
// down, more and less room, divisions and what is left agree, and no sign is needed.
func TestTurns(t *testing.T) {
	said := regexp.MustCompile(`^(lens|table) (up|down) ([0-9.]+) mm(?:, ([0-9]+) divisions?(?: and ([0-9.]+) mm)?)?(?:, Z counting (up|down))?, (more|less) room$`)
	number := func(text string) float64 { v, _ := strconv.ParseFloat(text, 64); return v }
	rapid.Check(t, func(t *rapid.T) {
		turn := Turn{TableMoves: rapid.Bool().Draw(t, "table"), DivisionMM: rapid.SampledFrom([]float64{0, 0.05, 0.0254, 0.35}).Draw(t, "division"),
			Axis: rapid.SampledFrom([]byte{0, 'Z'}).Draw(t, "axis"), PlusAway: rapid.Bool().Draw(t, "plus")}
		mm := float64(rapid.IntRange(-9000, 9000).Draw(t, "µm")) / 1000
		text := turn.By(mm)
		m := said.FindStringSubmatch(text)
		if m == nil {
			if text != "" || mm > PointTolerance || mm < -PointTolerance {
				t.Fatalf("%g: %q", mm, text)
			}
			return
		}
		away := (m[2] == "up") == (m[1] == "lens")
		by := number(m[3])
		if !away {
			by = -by
		}
		if by != mm || away != (m[7] == "more") || (m[1] == "table") != turn.TableMoves {
			t.Errorf("%g: %q", mm, text)
		}
		if m[4] != "" {
			turned := number(m[4])*turn.DivisionMM + number(m[5])
			if d := turned - number(m[3]); d > 0.001 || d < -0.001 || number(m[5]) > turn.DivisionMM {
				t.Errorf("%g: %q turns %g", mm, text, turned)
			}
			if strings.Contains(text, " 1 divisions") || strings.Contains(text, "2 division ") {
				t.Error(text)
			}
		}
		if (m[4] != "") != (turn.DivisionMM > 0 && number(m[3]) > turn.DivisionMM-0.0005) || (m[6] != "") != (turn.Axis != 0) || m[6] != "" && (m[6] == "up") != (away == turn.PlusAway) {
			t.Errorf("%+v, %g: %q", turn, mm, text)
		}
	})
}

func TestSettings(t *testing.T) {
	at := &FocusPoint{X: 75, Y: 50, Height: 0.85}
	z := Turn{Axis: 'Z', PlusAway: true}
	for want, s := range map[string]Setting{
		"EITHER set the focus on the stock at X75.000 Y50.000, then table down 0.650 mm, 13 divisions, more room; " +
			"OR set it on the stock at the datum, X5.000 Y6.000, then table down 1.500 mm, 30 divisions, more room": {
			Turn: Turn{TableMoves: true, DivisionMM: 0.05}, Height: 1.5, Point: at, Datum: &[2]float64{5, 6}},
		"EITHER set the focus on the stock at X75.000 Y50.000; OR set it where the surface's height is zero, then lens up 0.850 mm, Z counting up, more room; " +
			"then let the controller read Z-1.5 mm there": {Turn: z, Height: 0.85, Point: at, Z: new(-1.5)},
		"set the focus on the stock at the datum, X5.000 Y6.000; then let the controller read Z0 there": {Turn: z, Datum: &[2]float64{5, 6}, Z: new(0.0)},
		"set the focus where the surface's height is zero; with the controller reading Z2 mm":           {Z: new(2.0)},
		"EITHER set the focus on the stock at X75.000 Y50.000 (X2.9528 Y1.9685 in), then lens up 0.650 mm (0.0256 in), more room; " +
			"OR set it on the stock at the datum, X0.000 Y25.400 (X0.0000 Y1.0000 in), then lens up 1.500 mm (0.0591 in), more room; with the controller reading Z-1.5 mm (-0.0591 in)": {
			Turn: Turn{Inches: true}, Height: 1.5, Point: at, Datum: &[2]float64{-0.0001, 25.4}, Z: new(-1.5)},
	} {
		if got := s.Text(); got != want {
			t.Errorf("%s\nwant\n%s", got, want)
		}
	}
	for heights, want := range map[[2]float64]string{{0, 1.5}: "0.000 to 1.500 mm over the datum", {-0.0004, 0.0001}: "0.000 to 0.000 mm over the datum",
		{-1.5, -0.0001}: "1.500 to 0.000 mm below the datum", {-1.5, 0.25}: "1.500 mm below to 0.250 mm over the datum"} {
		if got := Between(heights[0], heights[1]); got != want {
			t.Errorf("%g: %s", heights, got)
		}
	}
	for mm, want := range map[float64]string{-0.0004: "0.000 mm over the datum", 1.5: "1.500 mm over the datum", -1.5: "1.500 mm below the datum"} {
		if got := Level(mm); got != want {
			t.Errorf("%g: %s", mm, got)
		}
	}
}

// What was said of the setting before is not said again of the next, and all that differs is.
func TestTextAfter(t *testing.T) {
	a := Setting{Turn: Turn{Backlash: 0.1}, Lens: Lens{Name: "short"}, Height: 1, Point: &FocusPoint{X: 1, Y: 2, Height: 1}, Round: 100}
	b := a
	b.Height, b.Point, b.Lens = 2, &FocusPoint{X: 3, Y: 4, Height: 2, Uneven: 0.3}, Lens{Name: "short", Height: 0.5}
	text := b.TextAfter(&a)
	for _, want := range []string{"X3.000 Y4.000", "rises or falls by 0.3 mm", "focus_height_mm", "OR set it"} {
		if !strings.Contains(text, want) {
			t.Errorf("not said: %s: %s", want, text)
		}
	}
	for _, said := range []string{"pencil line", "backlash"} {
		if !strings.Contains(a.Text(), said) || strings.Contains(text, said) {
			t.Errorf("said twice, or never: %s: %s", said, text)
		}
	}
}
