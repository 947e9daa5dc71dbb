package stroke

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// known is every character there is a glyph for.
const known = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 +-−=.,:/'()°%"

// descent is how far the deepest glyph reaches below the base line, in parts of
// the height of a capital.
const descent = 6.0 / unitsPerCap

// roundoff is more than sums of a line of text lose, in mm.
const roundoff = 1e-9

// heights are capitals from the smallest label to a poster's title, in mm.
var heights = []float64{0.5, 1, 3, 12, 100}

func TestEveryGlyphFillsItsBox(t *testing.T) {
	for _, capMM := range heights {
		for _, r := range known {
			if glyphOf(r) == missing {
				t.Fatalf("%q has no glyph", r)
			}
			left, right := math.Inf(1), math.Inf(-1)
			for _, line := range Text(string(r), capMM, 0, 0) {
				for _, p := range line {
					left, right = min(left, p.X), max(right, p.X)
					if p.Y < -descent*capMM-roundoff || p.Y > capMM+roundoff {
						t.Errorf("%q at %g mm: y %g", r, capMM, p.Y)
					}
				}
			}
			// Half a unit of air is left beside single stems.
			const air = 0.5 / unitsPerCap
			if w := Width(string(r), capMM); r != ' ' &&
				(left < -roundoff || left > air*capMM || right > w+roundoff || right < w-air*capMM) {
				t.Errorf("%q at %g mm: ink from %g to %g in a width of %g", r, capMM, left, right, w)
			}
		}
	}
}

func TestLettersStandOnTheirLines(t *testing.T) {
	top := func(r rune) (lo, hi float64) {
		lo, hi = math.Inf(1), math.Inf(-1)
		for _, line := range Text(string(r), 1, 0, 0) {
			for _, p := range line {
				lo, hi = min(lo, p.Y), max(hi, p.Y)
			}
		}
		return lo, hi
	}
	want := func(runes string, lo, hi float64) {
		for _, r := range runes {
			if l, h := top(r); math.Abs(l-lo) > roundoff || math.Abs(h-hi) > roundoff {
				t.Errorf("%q reaches from %g to %g, want %g to %g", r, l, h, lo, hi)
			}
		}
	}
	want("ABCDEFGHIJKLMNOPRSTUVWXYZ0123456789bdfhkl", 0, 1)
	want("aceomnrsuvwxz", 0, 0.7)
	want("gpqy", -descent, 0.7)
}

// A controller, or a polyline's direction, has no use for a stroke that goes
// nowhere, also once it is written with three decimals.
func TestNoSegmentIsWithoutLength(t *testing.T) {
	const least = 0.004 // mm: some units of the third decimal
	for _, capMM := range heights {
		for _, r := range known + "\x00é" {
			for _, line := range Text(string(r), capMM, 0, 0) {
				if len(line) < 2 {
					t.Fatalf("%q: a stroke of %d points", r, len(line))
				}
				for i := 1; i < len(line); i++ {
					if d := math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y); d < least {
						t.Errorf("%q at %g mm: segment %d is %g mm long", r, capMM, i, d)
					}
				}
			}
		}
	}
}

// dist is how far p is from the line's nearest point.
func (l Polyline) dist(p Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(l); i++ {
		a, d := l[i-1], Point{l[i].X - l[i-1].X, l[i].Y - l[i-1].Y}
		s := ((p.X-a.X)*d.X + (p.Y-a.Y)*d.Y) / (d.X*d.X + d.Y*d.Y)
		s = min(max(s, 0), 1)
		best = min(best, math.Hypot(a.X+s*d.X-p.X, a.Y+s*d.Y-p.Y))
	}
	return best
}

// apart is how far the first lines go from the second ones at most.
func apart(from, to []Polyline) float64 {
	far := 0.0
	for _, l := range from {
		for _, p := range l {
			best := math.Inf(1)
			for _, m := range to {
				best = min(best, m.dist(p))
			}
			far = max(far, best)
		}
	}
	return far
}

func TestChordsStayOnTheirCurves(t *testing.T) {
	for _, capMM := range heights {
		for _, r := range known {
			g := glyphOf(r)
			scale := capMM / unitsPerCap
			fine := g.flatten(chordErrorMM / scale / 100)
			coarse := g.flatten(chordErrorMM / scale)
			if d := apart(fine, coarse) * scale; d > chordErrorMM {
				t.Errorf("%q at %g mm: chords are %g mm off", r, capMM, d)
			}
		}
	}
}

// A digit read as another one is a wrong focus.
func TestDigitsDiffer(t *testing.T) {
	const least = 0.15 // of the height: a line and a half, where it is a tenth wide
	for a := '0'; a <= '9'; a++ {
		for b := '0'; b < a; b++ {
			p, q := Text(string(a), 1, 0, 0), Text(string(b), 1, 0, 0)
			if d := max(apart(p, q), apart(q, p)); d < least {
				t.Errorf("%c and %c differ by %g of their height", a, b, d)
			}
		}
	}
}

func TestTextIsItsPartsSideBySide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		letters := rapid.StringOfN(rapid.RuneFrom([]rune(known+"é☃")), 1, 12, -1)
		a, b := letters.Draw(t, "a"), letters.Draw(t, "b")
		capMM := rapid.Float64Range(0.5, 20).Draw(t, "cap")
		x, y := rapid.Float64Range(-300, 300).Draw(t, "x"), rapid.Float64Range(-300, 300).Draw(t, "y")

		step := Width(a, capMM) + gap*capMM
		if got, want := Width(a+b, capMM), step+Width(b, capMM); math.Abs(got-want) > roundoff {
			t.Fatalf("width %g, the parts' %g", got, want)
		}
		parts := append(Text(a, capMM, x, y), Text(b, capMM, x+step, y)...)
		whole := Text(a+b, capMM, x, y)
		if len(whole) != len(parts) {
			t.Fatalf("%d strokes, the parts have %d", len(whole), len(parts))
		}
		for i := range whole {
			for j := range whole[i] {
				p, q := whole[i][j], parts[i][j]
				if math.Hypot(p.X-q.X, p.Y-q.Y) > roundoff {
					t.Fatalf("stroke %d, point %d: %v and %v", i, j, p, q)
				}
			}
		}
	})
}

func TestMissingLettersAreBoxes(t *testing.T) {
	for _, r := range []rune{'é', '☃', 0, '\n', '\t', 0xFFFD} {
		if glyphOf(r) != missing {
			t.Errorf("%q should have no glyph", r)
		}
		lines := Text(string(r), 2, 0, 0)
		if len(lines) != 1 || len(lines[0]) != 5 || lines[0][0] != lines[0][4] {
			t.Errorf("%q: %v, want a closed box", r, lines)
		}
		if w := Width(string(r), 2); w != lines[0][2].X {
			t.Errorf("%q: width %g, box %g", r, w, lines[0][2].X)
		}
	}
	if lines := Text("\xff", 2, 0, 0); len(lines) != 1 {
		t.Errorf("a byte that is no letter gives %v", lines)
	}
}

func TestNothingToWrite(t *testing.T) {
	if w := Width("", 3); w != 0 {
		t.Errorf("the empty text is %g wide", w)
	}
	if lines := Text("   ", 3, 0, 0); len(lines) != 0 {
		t.Errorf("blanks give %v", lines)
	}
	for _, capMM := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if lines := Text("A", capMM, 0, 0); len(lines) != 0 {
			t.Errorf("height %g gives %v", capMM, lines)
		}
	}
}

func ExampleText() {
	for _, line := range Text("T", 2, 10, 5) {
		fmt.Println(line)
	}
	fmt.Printf("%.2f mm wide\n", Width("T", 2))
	// Output:
	// [{10 7} {11.3 7}]
	// [{10.65 7} {10.65 5}]
	// 1.30 mm wide
}
