package setup

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// drawnSetting is a setting of a drawn bench and lens, with a point and a datum or without.
func drawnSetting(t *rapid.T) *Setting {
	mm := func(label string, most float64) float64 {
		return math.Round(rapid.Float64Range(-most, most).Draw(t, label)*1e3) / 1e3
	}
	flag := func(label string) bool { return rapid.Bool().Draw(t, label) }
	s := &Setting{
		Turn: Turn{TableMoves: flag("table"), DivisionMM: rapid.SampledFrom([]float64{0, 0.05, 0.35}).Draw(t, "division"),
			Axis: rapid.SampledFrom([]byte{0, 'Z', 'W'}).Draw(t, "axis"), PlusAway: flag("plus"), Inches: flag("inches"), Touched: flag("touched")},
		Lens:    Lens{Name: rapid.SampledFrom([]string{"", "short", "2.5 in, the one with the scratch"}).Draw(t, "lens")},
		Height:  mm("height", 5),
		Defocus: rapid.SampledFrom([]float64{0, 0.8, -0.3}).Draw(t, "defocus"), InZ: flag("in z"),
		Round: rapid.SampledFrom([]float64{0, 157.08}).Draw(t, "round"),
	}
	if flag("shifted") {
		s.Lens.Shift, s.Lens.Height = mm("shift", 1), mm("further", 20)
	}
	if flag("backlash") {
		s.Turn.Backlash, s.Turn.Pointer = 0.1, [2]float64{12, -3}
	}
	if flag("point") {
		s.Point = &FocusPoint{X: mm("x", 300), Y: mm("y", 300), Height: mm("stock", 5), Uneven: mm("uneven", 20), Spoiled: flag("spoiled")}
	}
	if flag("datum") {
		s.Datum = &[2]float64{mm("datum x", 300), mm("datum y", 300)}
	}
	if flag("z known") {
		s.Z = new(mm("z", 10))
	}
	return s
}

// Whichever way is taken, what is turned on from where the gauge has best focus, at the
// stock or at the datum and short of it by the lens's shift, brings it to where it is to be.
func TestEveryWayLeadsThere(t *testing.T) {
	turned := regexp.MustCompile(`, then (lens|table) (up|down) ([0-9.]+) mm`)
	rapid.Check(t, func(t *rapid.T) {
		s := drawnSetting(t)
		ways := 0
		for _, clause := range s.Do() {
			var from float64
			switch {
			case strings.HasPrefix(clause, "EITHER set the focus"):
				from = s.Point.Height
			case strings.HasPrefix(clause, "OR set it"), strings.HasPrefix(clause, "set the focus"):
				from = 0 // at the datum
			default:
				continue
			}
			ways++
			by := 0.0
			if m := turned.FindStringSubmatch(clause); m != nil {
				by, _ = strconv.ParseFloat(m[3], 64)
				if (m[2] == "up") != (m[1] == "lens") {
					by = -by
				}
			}
			if best := from - s.Lens.Shift + by; math.Abs(best-s.Height) > PointTolerance+1e-9 {
				t.Errorf("%q sets best focus at %g mm, not %g", clause, best, s.Height)
			}
		}
		if want := 1; s.Point != nil && ways != 2 || s.Point == nil && ways != want {
			t.Errorf("%d ways: %s", ways, s.Text())
		}
	})
}

// However much there is to say, a sheet is a page of text of 80 columns, and all of the
// statement stands on it word for word.
func TestSheetsFitAPage(t *testing.T) {
	const lines = 70 // of an A4 page at six to the inch
	rapid.Check(t, func(t *rapid.T) {
		text := func(label string) string {
			return rapid.SampledFrom([]string{"job.gcode", strings.Repeat("a long name ", 12) + ".gcode", "größe\x1b.nc"}).Draw(t, label)
		}
		mm := func(label string) float64 { return rapid.Float64Range(-999, 999).Draw(t, label) }
		s := &Sheet{Program: text("program"), Surface: text("surface"), Corrected: rapid.Bool().Draw(t, "corrected"), Moves: rapid.Bool().Draw(t, "moves"),
			Rehearsal: rapid.Bool().Draw(t, "rehearsal"), Setting: *drawnSetting(t), Usable: focus.Depth{Near: 1, Far: 2}, Given: "sharp; not a depth of cut",
			Work: rapid.SampledFrom([]string{"", "G59.3"}).Draw(t, "work"), Shifted: rapid.Bool().Draw(t, "shifted"), Frame: []string{strings.Repeat("line 7: G92 counts from where ", 3)}, Start: "bring the head to X0 Y0",
			Burns: rapid.IntRange(1, 1e6).Draw(t, "burns"), Length: math.Abs(mm("length")), Seconds: math.Abs(mm("seconds")), Within: math.Abs(mm("within")),
			Low: focus.Extreme{MM: mm("low"), X: mm("low x"), Line: 1e6}, High: focus.Extreme{MM: mm("high"), Line: 7}, ZLow: mm("z low"), ZHigh: mm("z high"),
			Clear: []string{strings.Repeat("the head's tip keeps 1.5 mm over what stands there ", 4)}}
		for range rapid.IntRange(0, 9).Draw(t, "boxes") {
			s.Boxes = append(s.Boxes, surface.Box{X0: mm("box"), X1: 400, Y1: 400, Height: mm("box height")})
		}
		if rapid.Bool().Draw(t, "standoff") {
			s.Standoff = new(6.0)
		}
		page := string(s.Text())
		if n := strings.Count(page, "\n"); n > lines {
			t.Errorf("%d lines:\n%s", n, page)
		}
		for line := range strings.Lines(page) {
			if line = strings.TrimSuffix(line, "\n"); phrase.Columns(line) > Columns || strings.HasSuffix(line, " ") || strings.ContainsRune(line, Blank) {
				t.Errorf("%d columns: %q", phrase.Columns(line), line)
			}
		}
		if strings.Contains(page, "<no value>") || strings.Contains(page, "template:") {
			t.Error(page)
		}
		flat := strings.Join(strings.Fields(page), " ")
		for _, clause := range s.Setting.Say() {
			if !strings.Contains(flat, clause) {
				t.Errorf("%q is not on\n%s", clause, page)
			}
		}
	})
}
