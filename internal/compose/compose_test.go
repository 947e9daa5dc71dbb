package compose

import (
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/record"
)

func TestLinesAreAsTheProfileWants(t *testing.T) {
	m := record.DefaultMachine()
	m.Units, m.Numbered, m.LineMax, m.BeamOff = record.UnitsInch, true, new(24), record.MWords{107}
	w := New(m)
	w.Comment("the datum (again); 100 % of what incomprehensibilities-are\nhere, µm")
	w.Block(w.Unit(), "G90")
	w.Block(w.Off(), w.Dark())
	w.Block("G1", w.Length('X', -25.4), w.Feed(635))
	text, err := w.Text()
	const want = "(the datum [again], 100)\n(of what)\n(?m)\nN1 G20 G90\nN2 M107 S0\nN3 G1 X-1 F25\n"
	if err != nil || string(text) != want {
		t.Errorf("%v, got\n%s", err, text)
	}
	w.Block("G0", w.Length('X', 1), w.Length('Y', 1), w.Length('Z', 1))
	if _, err := w.Text(); !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), `"N4 G0 X0.03937 Y0.03937 Z0.03937"`) {
		t.Errorf("a line too long: %v", err)
	}

	m.Comments = false
	w = New(m)
	w.Finest(9, 6)
	w.Comment("nothing")
	if text, _ := w.Text(); len(text) > 0 || w.Length('X', 1) != "X0.03937" || w.Length('X', 0.01) != "X0.000394" {
		t.Errorf("%q, %s, %s", text, w.Length('X', 1), w.Length('X', 0.01))
	}
}

// A place beyond the reach of its axis is refused with the amount, the first of them; Z
// has none.
func TestPlacesStayWithinReach(t *testing.T) {
	m := record.DefaultMachine()
	m.XMM, m.YMM = &record.Reach{-5, 100}, &record.Reach{0, 50}
	w := New(m)
	w.Block("G0", w.Length('X', -5), w.Length('Y', 50), w.Length('Z', 900))
	if _, err := w.Text(); err != nil {
		t.Error(err)
	}
	w.Block("G0", w.Length('X', 100.25), w.Length('Y', -9))
	w.Block("G0", w.Length('X', -90))
	if _, err := w.Text(); !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), "X100.25 is 0.25 mm beyond the reach of X (x_mm, -5 to 100)") {
		t.Error(err)
	}
	m.Units, m.XMM = record.UnitsInch, nil
	w = New(m)
	w.Block("G0", w.Length('X', 1e4), w.Length('Y', 50.8))
	if _, err := w.Text(); !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), "Y50.8 is 0.8 mm beyond") {
		t.Error(err)
	}
}
