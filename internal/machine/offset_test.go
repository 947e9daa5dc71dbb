package machine

import (
	"math"
	"testing"
)

// RS274 3.5.18 (NISTIR 6556): "Suppose the current point is at X=4 in the
// currently specified coordinate system and the current X-axis offset is zero,
// then G92 x7 sets the X-axis offset to -3 [...] and causes the X-coordinate
// of the current point to be 7."
func TestAxisOffset(t *testing.T) {
	moves, st := mustRun(t, at(0, 0), "G0 X4 Y2 Z1\nG92 x7\nX8 Y3\nG91 X1\nG90 G92 Z0\nZ2\nG92 Y1 X0\nX1 Y1")
	if st.Offset != (Point{6, 2, 1}) {
		t.Errorf("offset %v", st.Offset)
	}
	want := []Point{{4, 2, 1}, {5, 3, 1}, {6, 3, 1}, {6, 3, 3}, {7, 3, 3}}
	for i, m := range moves {
		if m.To != want[i] {
			t.Errorf("move %d ends at %v, want %v", i, m.To, want[i])
		}
	}
	if _, st := mustRun(t, at(0, 0), "G0 X4\nG92 x7"); st.Offset != (Point{X: -3}) || st.At != (Point{X: 4}) {
		t.Errorf("%+v", st)
	}
}

// G92.2 and the end of the program take offsets away, G92.3 brings them back,
// G92.1 forgets them. A second G92 leaves the coordinates of axes that it does
// not name as they are.
func TestOffsetsAreSuspendedRestoredAndForgotten(t *testing.T) {
	for text, want := range map[string]Point{
		"G92.2":                      {},
		"M2":                         {},
		"M30":                        {},
		"G92.1":                      {},
		"G92.3":                      {X: -3},
		"G92.2\nG92.3":               {X: -3},
		"M2\nG92.3":                  {X: -3},
		"G92.1\nG92.3":               {},
		"G92 Y1":                     {X: -3, Y: -1},
		"G92 X4":                     {},
		"G92.2\nG92 Y1\nG92.3":       {Y: -1},
		"G0 X9\nG92 X9\nG92 Y2":      {X: -3, Y: -2},
		"G20 G92 X1\nG21":            {X: 4 - 25.4},
		"G91\nG92 X1\nG90\nG0 X1":    {X: 3},
		"G0 X1\nG92 X1\nG92.2":       {},
		"G0 X1\nG2 X1 I5 F9\nG92 X5": {X: -7},
	} {
		_, st := mustRun(t, at(0, 0), "M5\nG0 X4\nG92 X7\n"+text)
		if st.Offset != want {
			t.Errorf("%q: offset %v, want %v", text, st.Offset, want)
		}
	}
}

// Where G92 is said at a place that is not known, absolute words go to places
// that are not either; relative ones from the start are as good as without.
func TestOffsetOfAnUnknownAxis(t *testing.T) {
	for _, c := range []struct {
		text        string
		x, y, known bool
	}{
		{"G92 X0 Y0", false, false, false},
		{"G92 X0 Y0\nG0 X1 Y1", false, false, false},
		{"G92 X0\nG0 X1 Y1", false, true, false},
		{"G92 X0 Y0\nG92.1\nG0 X1 Y1", true, true, true},
		{"G92 X0 Y0\nM2\nG0 X1 Y1", true, true, true},
		{"G92 X0 Y0\nG92.2\nG0 X1 Y1\nG92.3\nG0 X2", false, true, false},
		{"G92 X0 Y0\nG92.2\nG0 X1 Y1\nG92.3", true, true, true},
		{"G92 X5 Y5\nG91 G0 X1", true, true, true},
		{"G92 X5 Y5\nG91 G0 X1\nG90 X5", true, true, true},
		{"G28 X0\nG91 G0 X1", false, false, false},
		{"G28 X0 Y0\nG92 X0 Y0\nG91 G0 X1 Y1", false, false, false},
	} {
		_, st := mustRun(t, DefaultConfig(), c.text)
		if st.XKnown != c.x || st.YKnown != c.y {
			t.Errorf("%q: X known %v, Y known %v", c.text, st.XKnown, st.YKnown)
		}
	}
	if _, st := mustRun(t, DefaultConfig(), "G92 X5 Y5\nG91 G0 X1\nG90 X5"); st.At.X != 0 {
		t.Errorf("X is at %v, want the start", st.At.X)
	}
}

func TestHomeLosesAxes(t *testing.T) {
	for _, c := range []struct {
		text       string
		lost       AxisSet
		home       Home
		rapid      bool
		xy, z      bool // the path is not known
		x, y, zEnd bool // known after the next absolute move of X and Z
	}{
		{"G28", allAxes, Home{G: 28}, true, true, true, true, false, true},
		{"G30 Z5", AxisZ, Home{G: 30, Named: AxisZ, Words: Point{Z: 5}}, true, false, true, true, true, true},
		{"G91 G28 X0 Y0", axesXY, Home{G: 28, Named: axesXY}, true, true, false, true, false, true},
		{"G53 G0 Y-1", AxisY, Home{G: 53, Named: AxisY, Words: Point{Y: -1}}, true, true, false, true, false, true},
		{"M5 G20 G53 G1 X1 F9", AxisX, Home{G: 53, Named: AxisX, Words: Point{X: 25.4}}, false, true, false, true, true, true},
	} {
		moves, st := mustRun(t, at(3, 4), "G0\n"+c.text+"\nG90 G0 X1 Z1")
		m := moves[0]
		if m.Lost != c.lost || m.Home != c.home || m.Rapid != c.rapid || m.FromUnknown != c.xy || m.ZUnknown != c.z || m.From != m.To || m.Burn {
			t.Errorf("%q: %+v", c.text, m)
		}
		if st.XKnown != c.x || st.YKnown != c.y || st.ZKnown != c.zEnd {
			t.Errorf("%q: after it %+v", c.text, st)
		}
		if n := moves[1]; n.ZUnknown != (c.lost&AxisZ != 0) || n.FromUnknown != (c.lost&axesXY != 0) {
			t.Errorf("%q: then %+v", c.text, n)
		}
	}
}

// Work offsets and G10 pass before the first motion in their coordinates, and
// where they change nothing.
func TestWorkOffsets(t *testing.T) {
	for _, text := range []string{
		"G55\nG56\nG0 X1\nG56", "G10 L2 P1 X5 Y5 Z5 R9\nG0 X1", "G59.3\nG0 X1\nG59.3", "G0 X1\nG54",
		"G28\nG57\nG10 L20 P4 X0\nG0 X1", "G55\nG0 X1\nM2\nG55\nG0 X1", "G54\nG0 X1\nM2\nG0 X1",
	} {
		moves, st := mustRun(t, at(0, 0), text)
		if st.At.X != 1 || len(moves) == 0 || st.Offset != (Point{}) {
			t.Errorf("%q: %+v", text, st)
		}
	}
}

// An arc by its centre's place is the one by the centre from its start.
func TestAbsoluteArcs(t *testing.T) {
	a, _ := mustRun(t, DefaultConfig(), "M5\nG0 X7 Y7\nG92 X1 Y2\nG2 X4 Y11 I3 J4 Z9 F100")
	b, st := mustRun(t, DefaultConfig(), "M5 G90.1\nG0 X7 Y7\nG92 X1 Y2\nG2 X4 Y11 I4 J6 Z9 F100")
	if a[1] != b[1] || st.Arcs != AbsoluteArcs {
		t.Errorf("%+v\n%+v", a[1], b[1])
	}
	// RS274 3.5.3: 143.130 degrees clockwise about (10, 11).
	if m := b[1]; math.Abs(m.CX-10) > 1e-9 || math.Abs(m.CY-11) > 1e-9 || math.Abs(m.Sweep*180/math.Pi+143.130) > 1e-3 {
		t.Errorf("%+v", m)
	}
}

// S beside an M word that is not the beam's is that word's own.
func TestArgumentsAreNotThePower(t *testing.T) {
	fan := DefaultConfig()
	fan.BeamOn, fan.BeamOff, fan.PowerFollows = []int{106}, []int{107}, nil
	for _, c := range []struct {
		cfg  Config
		text string
		beam Beam
	}{
		{DefaultConfig(), "M3 S5\nM106 S0", On},
		{DefaultConfig(), "M3 S0\nM106 S9", Off},
		{DefaultConfig(), "M3 S0\nM8 S9", On},
		{DefaultConfig(), "M106\nM3 S5\nS0", Off},
		{fan, "M106 S5", On},
		{fan, "M106 S0", Off},
		{fan, "M106 S5\nM107", Off},
		{fan, "M106 S5\nM3 S0", On},
		{fan, "M106\nM3 S1000", On},
		{fan, "M5", Unsaid},
	} {
		if _, st := mustRun(t, c.cfg, c.text); st.Beam != c.beam {
			t.Errorf("%q: beam %v, want %v", c.text, st.Beam, c.beam)
		}
	}
}
