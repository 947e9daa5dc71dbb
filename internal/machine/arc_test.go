package machine

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The cases of NIST RS274/NGC Interpreter, Version 3 (NISTIR 6556); the
// section stands beside each.
func TestArcsOfRS274(t *testing.T) {
	const none = math.MaxFloat64
	for _, c := range []struct {
		section   string
		x, y      float64
		text      string
		cx, cy, r float64
		sweep     float64 // degrees
		toX, toY  float64
		toZ       float64
		digits    float64 // of the source
	}{
		{"3.5.3.2", 7, 7, "G2 x10 y16 i3 j4 z9", 10, 11, 5, -143.130, 10, 16, 9, 1e-3},
		{"figure 5", 1.1, 3.2, "G2 X2 Y3.5 I0.9 J-1.2", 2, 2, 1.5, none, 2, 3.5, 0, 1e-9},
		{"appendix C", 16, 2.5, "g3 x13.5 y0 i-2.5", 13.5, 2.5, 2.5, 270, 13.5, 0, 0, 1e-9},
		{"appendix C", 32.5, 10, "g2 x32.5 j2.5", 32.5, 12.5, 2.5, -360, 32.5, 10, 0, 1e-9},
		{"appendix C", 64, 4, "g2 x69 r4", 66.5, 0.877501, 4, -2 * math.Asin(2.5/4) * 180 / math.Pi, 69, 4, 0, 1e-6},
		{"appendix C", 3, 0, "g2 j2.5 y5", 3, 2.5, 2.5, -180, 3, 5, 0, 1e-9},
	} {
		moves, _ := mustRun(t, at(c.x, c.y), "F100\n"+c.text)
		m := moves[0]
		if m.Kind != Arc || math.Abs(m.CX-c.cx) > c.digits || math.Abs(m.CY-c.cy) > c.digits ||
			math.Abs(m.R0-c.r) > c.digits || c.sweep != none && math.Abs(m.Sweep*180/math.Pi-c.sweep) > c.digits ||
			m.To != (Point{c.toX, c.toY, c.toZ}) {
			t.Errorf("%s, %q: %+v", c.section, c.text, m)
		}
		if c.sweep == none && (m.Sweep >= 0 || m.Sweep < -math.Pi) {
			t.Errorf("%s, %q: sweep %v", c.section, c.text, m.Sweep)
		}
	}
}

// genTicks draws a coordinate in units of 0.001 mm: everyday ones, tiny ones,
// and ones 10 m away.
func genTicks(t *rapid.T, name string) int64 {
	return rapid.OneOf(
		rapid.Int64Range(-200000, 200000),
		rapid.Int64Range(-3, 3),
		rapid.Int64Range(9999990, 10000000),
	).Draw(t, name)
}

// mm spells so many thousandths.
func mm(ticks int64) string {
	sign := ""
	if ticks < 0 {
		sign, ticks = "-", -ticks
	}
	return fmt.Sprintf("%s%d.%03d", sign, ticks/1000, ticks%1000)
}

// Full circles, half circles and arcs of a tick, near and far: the ends lie
// on the circle and the sweep is what integer arithmetic says.
func TestCentreArcs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sx, sy := genTicks(t, "sx"), genTicks(t, "sy")
		i, j := genTicks(t, "i"), genTicks(t, "j")
		if i == 0 && j == 0 {
			return
		}
		// An end with exactly the start's radius: the start's offset turned
		// by quarters or mirrored, or the start itself; or one a tick away
		// from it, for the arcs whose radius makes up for it.
		x0, y0 := -i, -j
		x1, y1 := x0, y0
		switch rapid.IntRange(0, 6).Draw(t, "end") {
		case 1:
			x1, y1 = -y0, x0
		case 2:
			x1, y1 = -x0, -y0
		case 3:
			x1, y1 = y0, -x0
		case 4:
			x1, y1 = y0, x0
		case 5:
			x1++
		case 6:
			y1--
		}
		if x1 == 0 && y1 == 0 {
			return
		}
		g := rapid.IntRange(2, 3).Draw(t, "g")
		text := fmt.Sprintf("G90 G0 X%s Y%s\nF1000 G%d X%s Y%s I%s J%s\n", mm(sx), mm(sy), g,
			mm(sx+i+x1), mm(sy+j+y1), mm(i), mm(j))
		moves, _, err := runWith(at(0, 0), text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		m := moves[1]
		checkArc(t, &m)
		cross := float64(x0)*float64(y1) - float64(y0)*float64(x1)
		if x0 == 0 || y0 == 0 || x1 == x0 {
			cross = float64(x0*y1 - y0*x1)
		}
		dot := float64(x0)*float64(x1) + float64(y0)*float64(y1)
		want := math.Atan2(cross, dot)
		if g == 3 && want <= 0 {
			want += 2 * math.Pi
		}
		if g == 2 && want >= 0 {
			want -= 2 * math.Pi
		}
		if math.Abs(m.Sweep-want) > 1e-9 {
			t.Errorf("%q: sweep %v, want %v", text, m.Sweep, want)
		}
	})
}

// A tick of arc on a wide circle far from zero is a tick long, in both
// directions; the other direction is all but a full circle; and only the same
// place is a full circle.
func TestTinyArcIsNoFullCircle(t *testing.T) {
	for _, r := range []int64{1000, 400000, 100000000} {
		for _, sx := range []int64{0, 9999999} {
			for _, d := range []int64{-1, 0, 1} {
				for g := 2; g <= 3; g++ {
					text := fmt.Sprintf("G3 F100 X%s Y%s I%s J0", mm(sx), mm(d), mm(r))
					if g == 2 {
						text = "G2" + text[2:]
					}
					moves, _ := mustRun(t, at(float64(sx)/1000, 0), text)
					turn := 2 * math.Pi * float64(r) / 1000
					// The start is left of the centre: counter-clockwise
					// is down.
					want := turn
					switch {
					case d == 0:
					case (d < 0) == (g == 3):
						want = 0.001
					default:
						want = turn - 0.001
					}
					if got := moves[0].Length; math.Abs(got-want) > 1e-6*want+1e-9 {
						t.Errorf("%q from X%s: length %v, want %v", text, mm(sx), got, want)
					}
				}
			}
		}
	}
}

func TestRadiusArcs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sx, sy := genTicks(t, "sx"), genTicks(t, "sy")
		dx, dy := genTicks(t, "dx"), genTicks(t, "dy")
		if dx == 0 && dy == 0 {
			return
		}
		chord := math.Hypot(float64(dx), float64(dy))
		least := int64(math.Ceil(chord / 2))
		r := rapid.OneOf(rapid.Int64Range(least, least+2), rapid.Int64Range(least, 20*least+10)).Draw(t, "r")
		sign := rapid.SampledFrom([]int64{1, -1}).Draw(t, "sign")
		g := rapid.IntRange(2, 3).Draw(t, "g")
		text := fmt.Sprintf("G0 X%s Y%s\nG91 F1000 G%d X%s Y%s R%s\n", mm(sx), mm(sy), g, mm(dx), mm(dy), mm(sign*r))
		moves, _, err := runWith(at(0, 0), text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		m := moves[1]
		// The centre of a nearly half circle is as uncertain as a root.
		tol := 1e-7 * (1 + m.R0)
		for _, end := range []Point{m.From, m.To} {
			if d := math.Abs(math.Hypot(end.X-m.CX, end.Y-m.CY) - float64(r)/1000); d > tol {
				t.Errorf("%q: an end is off its circle by %g", text, d)
			}
		}
		sin, cos := math.Sincos(m.A0 + m.Sweep)
		if d := math.Hypot(m.CX+m.R1*cos-m.To.X, m.CY+m.R1*sin-m.To.Y); d > tol {
			t.Errorf("%q: the end is missed by %g", text, d)
		}
		if (m.Sweep > 0) != (g == 3) || (math.Abs(m.Sweep) <= math.Pi) != (sign > 0) && 2*r != int64(chord) {
			t.Errorf("%q: sweep %v", text, m.Sweep)
		}
	})
}

// The tolerance of the radii, at both sides of the limit in both units
// (RS274 3.5.3: 0.002 mm, 0.0002 inch), and of R for half a turn.
func TestRadiiTolerance(t *testing.T) {
	for _, c := range []struct {
		text string
		ok   bool
	}{
		{"G2 X20.002 I10", true},
		{"G2 X20.0021 I10", false},
		{"G2 X19.998 I10", true},
		{"G2 X19.9979 I10", false},
		{"G20 F1 G2 X2.0002 I1", true},
		{"G20 F1 G2 X2.00021 I1", false},
		{"G2 X20.004 R10", true},
		{"G2 X20.0041 R10", false},
		{"G20 F1 G2 X2.0004 R-1", true},
		{"G20 F1 G2 X2.00041 R-1", false},
		{"G2 X0.001 R0", false},
	} {
		text := c.text
		if text[:3] != "G20" {
			text = "F100" + text
		}
		_, _, err := runWith(at(0, 0), text)
		if (err == nil) != c.ok {
			t.Errorf("%q: %v", text, err)
		}
	}
	m, _ := mustRun(t, at(0, 0), "F100 G3 X20.004 R10")
	if got := m[0]; got.CX != 10.002 || got.CY != 0 || got.R0 != 10.002 || got.Sweep != math.Pi {
		t.Errorf("half a turn: %+v", got)
	}
}

// The other way round the angle is what is left of the turn, and the way back is as
// long as the way there: a tiny arc too.
func TestSweepEitherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.IntRange(-2000, 2000)
		x0, y0 := float64(c.Draw(t, "x0"))/1000, float64(c.Draw(t, "y0"))/1000
		x1, y1 := float64(c.Draw(t, "x1"))/1000, float64(c.Draw(t, "y1"))/1000
		if x0 == 0 && y0 == 0 || x1 == 0 && y1 == 0 {
			return
		}
		left, right := sweep(3, x0, y0, x1, y1), sweep(2, x0, y0, x1, y1)
		back := sweep(2, x1, y1, x0, y0)
		if !(left > 0 && left <= 2*math.Pi && right < 0 && right >= -2*math.Pi && math.Abs(left+back) <= 2e-15*left) {
			t.Fatalf("left %v, right %v, back %v", left, right, back)
		}
		if sum := left - right; math.Abs(sum-2*math.Pi) > 4e-15 && (left != 2*math.Pi || right != -left) {
			t.Fatalf("left %v and right %v are no turn", left, right)
		}
	})
}

// An arc that ends where it starts is a full circle, not nothing, however the zero
// between has come to its sign.
func TestSweepOfTheAxes(t *testing.T) {
	zero := math.Copysign(0, -1)
	for _, c := range []struct{ x, y, want float64 }{
		{1, 0, 2 * math.Pi}, {1, zero, 2 * math.Pi}, {-1, 0, math.Pi}, {-1, zero, math.Pi},
		{0, 1, math.Pi / 2}, {zero, 1, math.Pi / 2}, {0, -1, 3 * math.Pi / 2}, {zero, -1, 3 * math.Pi / 2},
		{1, 1e-30, 1e-30}, {1, -1e-30, 2 * math.Pi},
	} {
		if got := sweep(3, 1, 0, c.x, c.y); got != c.want {
			t.Errorf("from 1, 0 to %g, %g: %v, want %v", c.x, c.y, got, c.want)
		}
	}
}
