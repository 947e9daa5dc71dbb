package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
)

// parsed are the texts of an SVG and the attributes of its first element.
func parsed(text string) (texts []string, root map[string]string, err error) {
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return texts, root, nil
		}
		if err != nil {
			return nil, nil, err
		}
		switch e := tok.(type) {
		case xml.CharData:
			if s := strings.TrimSpace(string(e)); s != "" {
				texts = append(texts, s)
			}
		case xml.StartElement:
			if root == nil {
				root = map[string]string{}
				for _, a := range e.Attr {
					root[a.Name.Local] = a.Value
				}
			}
		}
	}
}

// screen is a picture as it is seen, with where places of its first frame are.
type screen struct {
	image.Image
	Frame
}

func see(t *testing.T, p *Picture) screen {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b, "png"); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	wide, high := p.width.Points()*pngDPI/72, p.height.Points()*pngDPI/72
	if s := img.Bounds().Size(); math.Abs(float64(s.X)-wide) > 1 || math.Abs(float64(s.Y)-high) > 1 {
		t.Fatalf("a picture of %v, not %g by %g", s, wide, high)
	}
	_, frames, err := p.svg()
	if err != nil {
		t.Fatal(err)
	}
	return screen{img, frames[0]}
}

// at is the colour at a place, so many points to the right of it.
func (s screen) at(x, y, right float64) color.NRGBA {
	px := s.Left + (x-s.X0)/(s.X1-s.X0)*(s.Right-s.Left) + right
	py := s.Bottom - (y-s.Y0)/(s.Y1-s.Y0)*(s.Bottom-s.Top)
	const per = pngDPI / 72.
	return color.NRGBAModel.Convert(s.Image.At(int(px*per), int(py*per))).(color.NRGBA)
}

// like reports whether colours are alike but for what the edge of a line blends.
func like(a, b color.NRGBA) bool {
	const near = 30
	off := func(a, b uint8) float64 { return math.Abs(float64(a) - float64(b)) }
	return off(a.R, b.R) <= near && off(a.G, b.G) <= near && off(a.B, b.B) <= near
}

// threeLines are three burns, of which the first is in focus, the second spends most of the
// depth, and the last is out of it at its right end.
func threeLines(t *testing.T) *Job {
	p := placed(t, 0, rising)
	level := map[float64]float64{20: 0.2, 60: 0.9, 100: 0}
	tr := traceOf(p, 1, 1, func(q orb.Point) float64 { return q[0]/100 + level[q[1]] + max(q[1]-99, 0)*q[0]/100 },
		orb.LineString{{10, 20}, {190, 20}}, orb.LineString{{10, 60}, {190, 60}}, orb.LineString{{10, 100}, {190, 100}})
	return &Job{Title: "three lines", Verdict: "does not hold", Placed: p, Trace: tr, Focus: &[2]float64{100, 40}, Datum: &[2]float64{60, 80}}
}

// What is out of focus is drawn as that where it lies, and what is not is not; the worst place is
// marked where it is, with its amount.
func TestFocusIsSeenFromAbove(t *testing.T) {
	j := threeLines(t)
	for _, width := range []Width{Wide, Narrow} {
		p, err := j.Above(ByDefocus, width)
		if err != nil {
			t.Fatal(err)
		}
		if p.width != vg.Length(width) {
			t.Errorf("a picture of %v, not %v", p.width, width)
		}
		s := see(t, p)
		seen := map[float64]map[color.NRGBA]bool{}
		for _, y := range []float64{20, 60, 100} {
			seen[y] = map[color.NRGBA]bool{}
			for x := 20.0; x < 180; x += 0.25 { // a dash has gaps
				got := s.at(x, y, 0)
				for _, c := range []color.NRGBA{spent[0], spent[1], spent[2], outColour} {
					if like(got, c) {
						seen[y][c] = true
					}
				}
			}
		}
		if !seen[20][spent[0]] || seen[20][outColour] || !seen[60][spent[2]] || seen[60][outColour] || !seen[100][outColour] {
			t.Errorf("width %v: seen %v", width, seen)
		}
		w := j.Trace.Worst[0].At
		if w != (orb.Point{190, 100}) {
			t.Fatalf("worst at %v", w)
		}
		if r := worstMark.radius.Points(); !like(s.at(w[0], w[1], r), sheetInk) || !like(s.at(w[0], w[1], -r), sheetInk) {
			t.Errorf("no ring around the worst place: %v, %v", s.at(w[0], w[1], r), s.at(w[0], w[1], -r))
		}
		text, err := p.Inline("from above", "three lines")
		if err != nil {
			t.Fatal(err)
		}
		texts, root, err := parsed(text)
		if err != nil {
			t.Fatal(err)
		}
		all := "\n" + strings.Join(texts, "\n") + "\n"
		for _, want := range []string{"\n+1.90 mm", "\nOUT OF FOCUS: beyond the usable depth\n", "of 1 mm usable further, line 6\n", "\nfrom above\n", "\nthree lines\n", "\nthe focus is set on the stock here\n", "\ntravels, the beam off\n"} {
			if !strings.Contains(strings.ReplaceAll(all, "usable\nfurther", "usable further"), want) {
				t.Errorf("no %q in %s", want, all)
			}
		}
		for name, want := range map[string]float64{"data-x0": s.X0, "data-left": s.Left, "data-bottom": s.Bottom, "data-y1": s.Y1} {
			if got, err := strconv.ParseFloat(root[name], 64); err != nil || math.Abs(got-want) > 1e-3 {
				t.Errorf("%s: %q, not %g", name, root[name], want)
			}
		}
		if root["role"] != "img" || !strings.HasPrefix(root["viewBox"], "0 0 ") {
			t.Errorf("%v", root)
		}
	}
}

// Cells are drawn where they are, in the colour of what they have.
func TestCellsAreDrawnWhereTheyAre(t *testing.T) {
	j := &Job{Placed: placed(t, 0, rising), Trace: &trace.Trace{Programs: []trace.Program{{Near: 1, Far: 1}}}}
	c := &trace.Cells{Bounds: orb.Bound{Min: orb.Point{20, 10}, Max: orb.Point{160, 110}}, NX: 7, NY: 5}
	j.Trace.Bounds, j.Trace.Above.Cells = c.Bounds, c
	values := []float32{0.1, -0.5, 0.8, -3, float32(math.NaN())}
	want := []color.NRGBA{spent[0], spent[1], spent[2], outColour, {}}
	for k := range c.NX * c.NY {
		v := values[k*3%5]
		c.Defocus, c.C, c.Program, c.Line = append(c.Defocus, v), append(c.C, v), append(c.Program, 0), append(c.Line, 1)
	}
	p, err := j.Above(ByDefocus, Wide)
	if err != nil {
		t.Fatal(err)
	}
	s := see(t, p)
	for k := range c.NX * c.NY {
		x, y := 20+20*(float64(k%c.NX)+0.5), 10+20*(float64(k/c.NX)+0.5)
		got := s.at(x+4, y+5, 0) // beside what else may be in the middle
		if w := want[k*3%5]; w == (color.NRGBA{}) {
			for _, w := range want[:4] {
				if like(got, w) {
					t.Errorf("nothing burns at %g, %g, which is %v", x, y, got)
				}
			}
		} else if !like(got, w) {
			t.Errorf("at %g, %g it is %v, not %v", x, y, got, w)
		}
	}
}

// A class takes in its upper limit; beyond the depth is out, whichever side.
func TestClassesOfDefocus(t *testing.T) {
	g := (&Over{By: ByDefocus}).groups()
	for v, want := range map[float64]int{0: 0, 1. / 3: 0, 0.34: 1, 2. / 3: 1, -0.67: 2, 1: 2, -1: 2, 1.001: 4, -1.001: 4, math.Inf(1): 4, math.Inf(-1): 4} {
		if got := g.of(v, 0, 0); got != want {
			t.Errorf("%g is in class %d, not %d", v, got, want)
		}
	}
	if g.of(math.NaN(), 0, 0) != 3 || !g.classes[3].out || !g.classes[4].out || g.classes[2].out {
		t.Error("what has no height, or too much defocus, is not in focus")
	}
}

// Columns along the path have the extremes of what they stand for, and no more.
func TestColumnsKeepExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := placed(t, 0, func(x, y float64) float64 { return math.Sin(x/17) * math.Cos(y/23) })
		var lines []orb.LineString
		for range rapid.IntRange(1, 40).Draw(t, "lines") {
			var l orb.LineString
			for range rapid.IntRange(2, 5).Draw(t, "points") {
				l = append(l, orb.Point{rapid.Float64Range(0, 200).Draw(t, "x"), rapid.Float64Range(0, 120).Draw(t, "y")})
			}
			lines = append(lines, l)
		}
		tr := traceOf(p, 0.7, 1.1, func(q orb.Point) float64 { return math.Sin(q[0]/29) / 2 }, lines...)
		cols := columns(tr, rapid.SampledFrom([]int{1, 10, 300}).Draw(t, "columns"))
		c, height, defocus := nothing, nothing, nothing
		out := false
		for k := range cols {
			if cols[k].burns {
				c, height, defocus = join(c, cols[k].c), join(height, cols[k].height), join(defocus, cols[k].defocus)
				out = out || cols[k].out
				if m := cols[k].may; !empty(cols[k].must) && (cols[k].must.Lo < m.Lo || cols[k].must.Hi > m.Hi) {
					t.Fatalf("the window that all have, %v, is not within %v", cols[k].must, m)
				}
			}
		}
		wantC, wantHeight, wantDefocus := nothing, nothing, nothing
		for _, s := range tr.Stretches {
			if s.Burns {
				wantC, wantHeight, wantDefocus = join(wantC, s.C), join(wantHeight, s.Height), join(wantDefocus, s.Defocus)
			}
		}
		same := func(a, b trace.Range) bool { return math.Abs(a.Lo-b.Lo) < 1e-9 && math.Abs(a.Hi-b.Hi) < 1e-9 }
		if !same(c, wantC) || !same(height, wantHeight) || !same(defocus, wantDefocus) {
			t.Fatalf("c %v, height %v, defocus %v; not %v, %v, %v", c, height, defocus, wantC, wantHeight, wantDefocus)
		}
		if want := wantDefocus.Lo < -0.7 || wantDefocus.Hi > 1.1; out != want {
			t.Fatalf("out of focus: %v, with %v", out, wantDefocus)
		}
	})
}

// What many burns are joined to is not out of focus where no burn is, though its defocus and
// its least depth are of different places.
func TestJoinedStretchesAreNotOutOfFocus(t *testing.T) {
	p := placed(t, 0, rising)
	tr := traceOf(p, 1, 1, func(q orb.Point) float64 { return q[0]/100 + 0.9 }, orb.LineString{{0, 20}, {200, 20}})
	tr.Stretches[0].Less = 0.3 // where less of the depth is spent
	for _, c := range columns(tr, 50) {
		if c.out {
			t.Fatal("out of focus, with the worst within its depth")
		}
	}
	tr.Worst[0].Depth = 0.7
	if cols := columns(tr, 50); !cols[25].out {
		t.Error("in focus, with the worst beyond its depth")
	}
}

// Along a stretch that is wide in a picture c runs from where it was to where it goes on.
func TestCourseIsToldByNeighbours(t *testing.T) {
	p := placed(t, 0, rising)
	tr := traceOf(p, 1, 1, func(q orb.Point) float64 { return q[0] / 100 }, orb.LineString{{0, 20}, {200, 20}, {50, 20}, {60, 20}})
	cols := columns(tr, 360)
	for k, want := range map[int]float64{10: 0.10, 100: 1.0, 199: 1.99, 250: 1.5, 340: 0.6} {
		// A column is a mm of the 360 mm.
		if got := cols[k].c; math.Abs(got.Lo-want) > 0.02 || math.Abs(got.Hi-want) > 0.02 {
			t.Errorf("column %d: c %v, not %g", k, got, want)
		}
	}
}

// Along the path a frame is in seconds and mm, and what is out of focus is said; names of
// programs stand where they begin.
func TestAlongThePath(t *testing.T) {
	j := threeLines(t)
	half := j.Trace.Seconds / 2
	j.Trace.Programs = append(j.Trace.Programs, trace.Program{Name: "second.gcode", Near: 1, Far: 1, Seconds: half, First: 3})
	for k := range j.Trace.Stretches[3:] {
		j.Trace.Stretches[3+k].Program = 1
	}
	j.Trace.Stretches[0].Slowed = 0.62
	j.Trace.Stretches[2].Height, j.Trace.Stretches[2].Defocus = nothing, nothing
	j.Trace.Waits, j.Trace.Waiting = []trace.Wait{{Seconds: 1}, {Seconds: 2, Stop: true}}, 2
	p, err := j.Along(Wide)
	if err != nil {
		t.Fatal(err)
	}
	svg, frames, err := p.svg()
	if err != nil {
		t.Fatal(err)
	}
	if len(frames) != 3 {
		t.Fatalf("%d frames", len(frames))
	}
	for k, f := range frames {
		if f.X0 != 0 || f.X1 != j.Trace.Seconds || f.Left != frames[0].Left || f.Right != frames[0].Right || k > 0 && f.Top < frames[k-1].Bottom {
			t.Errorf("frame %d: %+v", k, f)
		}
	}
	if f := frames[1]; f.Y0 > -1 || f.Y1 < 1.9 {
		t.Errorf("defocus from %g to %g", f.Y0, f.Y1)
	}
	texts, _, err := parsed(string(svg))
	if err != nil {
		t.Fatal(err)
	}
	all := "\n" + strings.Join(texts, "\n") + "\n"
	for _, want := range []string{"\njob.gcode\n", "\nsecond.gcode\n", "\nOUT OF FOCUS: a burn beyond the depth\n", "\nburns slowed, to 62 % of the programmed feed at least\n", "\nstops for the operator: 1 time\n", "\nstands still: 1 time\n", "\nat the top: no height is known under the burn\n", "\ntime, s\n", "\nline 2\n"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in %s", want, all)
		}
	}
}

// The speed of Z, its steps and what the bench can do of both stand where and as high as they
// are, and it is said whether they are with inertia.
func TestZSpeedAlongThePath(t *testing.T) {
	for _, inertia := range []bool{false, true} {
		j := threeLines(t)
		j.ZSpeed = 2
		all := j.Trace.Stretches
		all[0].ZSpeed = 1
		at := all[0].At + (all[0].Until-all[0].At)/2
		if j.Trace.Inertia = inertia; inertia {
			j.ZStep = 0.8
			all[0].ZStep, all[0].ZStepAt = 0.6, at
			j.Trace.ZStep = trace.ZStep{MMS: 0.6, Line: 2, Seconds: at}
		}
		p, err := j.Along(Wide)
		if err != nil {
			t.Fatal(err)
		}
		s := see(t, p)
		_, frames, err := p.svg()
		if err != nil {
			t.Fatal(err)
		}
		s.Frame = frames[2]
		black := func(c color.NRGBA) bool { return max(c.R, c.G, c.B) < 130 }
		purple := func(c color.NRGBA) bool { return int(c.R)-int(c.G) > 30 && int(c.B)-int(c.G) > 15 }
		seen := func(is func(color.NRGBA) bool, at, y float64) bool {
			for _, right := range []float64{-1.5, -1, -0.5, 0, 0.5, 1, 1.5} { // of a dash or beside one
				for _, up := range []float64{-0.01, 0, 0.01} {
					if is(s.at(at, y+up, right)) {
						return true
					}
				}
			}
			return false
		}
		if s.Y1 < 2 || s.Y0 != 0 {
			t.Errorf("speeds from %v to %v", s.Y0, s.Y1)
		}
		for _, c := range []struct {
			y    float64
			want bool
		}{{0.2, true}, {0.4, true}, {0.7, false}} {
			if seen(purple, at, c.y) != (c.want && inertia) {
				t.Errorf("inertia %t: a step of 0.6 mm/s at %v s is seen at %v: %t", inertia, at, c.y, !c.want)
			}
		}
		later, limits := at+(s.X1-at)/2, [2]bool{}
		for x := later; x < later+10*s.X1/(s.Right-s.Left); x += s.X1 / (s.Right - s.Left) / 4 {
			limits[0], limits[1] = limits[0] || seen(black, x, 2), limits[1] || seen(purple, x, 0.8)
		}
		if limits != [2]bool{true, inertia} {
			t.Errorf("inertia %t: limits are seen: %v", inertia, limits)
		}
		text, err := p.Inline("along", "the path")
		if err != nil {
			t.Fatal(err)
		}
		texts, _, err := parsed(text)
		if err != nil {
			t.Fatal(err)
		}
		all2 := strings.Join(texts, "\n")
		for _, c := range []struct {
			text string
			want bool
		}{
			{"Z speed, mm/s", true}, {"the greatest speed of Z that the bench has: 2 mm/s", true}, {"the greatest step: 0.6 mm/s, line 2", inertia},
			{"the greatest step of it that the bench takes: 0.8 mm/s", inertia}, {"with the inertia of the axes", inertia}, {"by feeds alone: no acceleration is known", !inertia},
		} {
			if strings.Contains(all2, c.text) != c.want {
				t.Errorf("inertia %t: %q in %s", inertia, c.text, all2)
			}
		}
	}
}

// Bars are as high as what is burned, and never say that all is in focus where it is not.
func TestShares(t *testing.T) {
	j := threeLines(t)
	j.Trace.Before = &trace.Share{MM: make([]float64, 40), Within: 0, Total: 540}
	j.Trace.Before.MM[35] = 540
	p, err := j.Shares(Wide)
	if err != nil {
		t.Fatal(err)
	}
	s := see(t, p)
	// A third of what is burned each at 0.2, 0.9 and 1.9 of the depth.
	for x, want := range map[float64]bool{0.25: true, 0.95: true, 1.95: true, -0.45: false} {
		if got := like(s.at(x, 20, 0), chosen); got != want {
			t.Errorf("a bar at %g: %v", x, got)
		}
		if like(s.at(x, 40, 0), chosen) {
			t.Errorf("the bar at %g is too high", x)
		}
	}
	for _, c := range []struct {
		part, whole float64
		want        string
	}{{1, 1, "100"}, {0.99999, 1, "99.9"}, {0.00001, 1, "less than 0.1"}, {0, 1, "0"}, {0.5, 1, "50"}} {
		if got := percent(c.part, c.whole); got != c.want {
			t.Errorf("%g of %g: %s %%, not %s", c.part, c.whole, got, c.want)
		}
	}
}

// The parts of a depth are what is lost, and between them lies what is left to use.
func TestBudgetPartsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := func(label string) focus.Term { return focus.Term{MM: rapid.Float64Range(0, 0.2).Draw(t, label)} }
		b := focus.Budget{Lens: focus.Depth{Near: rapid.Float64Range(0.05, 3).Draw(t, "near"), Far: rapid.Float64Range(0.05, 3).Draw(t, "far")},
			SurfaceError: mm("surface"), FocusSetting: mm("setting"), DepthError: mm("depth"), Backlash: mm("backlash"), HalfDecimal: mm("decimal")}
		for _, purpose := range []focus.Purpose{focus.Checking, focus.Writing} {
			sum := 0.0
			for _, p := range budgetParts(b, purpose) {
				sum += p.mm
			}
			if math.Abs(sum-b.Lost(purpose)) > 1e-12 {
				t.Fatalf("%g is lost, and %g drawn", b.Lost(purpose), sum)
			}
			p, err := BudgetBar(b, purpose, trace.Range{Lo: -0.3, Hi: rapid.Float64Range(-0.3, 5).Draw(t, "spends")}, Narrow)
			if err != nil {
				t.Fatal(err)
			}
			wellFormed(t, p)
		}
	})
	if _, err := BudgetBar(focus.Budget{}, focus.Checking, nothing, Wide); err == nil {
		t.Error("a lens without depth is drawn")
	}
}

// A figure has its verdict, and the frames of all its pictures one below the other.
func TestFigure(t *testing.T) {
	j := threeLines(t)
	j.Title, j.Verdict = "<b>job</b>", "does not hold: 1 burn out of focus"
	p, err := j.Figure(ByDefocus, Wide)
	if err != nil {
		t.Fatal(err)
	}
	svg, frames, err := p.svg()
	if err != nil {
		t.Fatal(err)
	}
	texts, _, err := parsed(string(svg))
	if err != nil || len(texts) < 2 || texts[0] != "<b>job</b>" || texts[1] != j.Verdict {
		t.Errorf("%v, %v", texts[:min(3, len(texts))], err)
	}
	if len(frames) != 5 {
		t.Fatalf("%d frames", len(frames))
	}
	for k := range frames[1:] {
		if frames[k+1].Top < frames[k].Bottom || frames[k+1].Bottom > p.height.Points() {
			t.Errorf("frame %d lies over the one above: %+v, %+v", k+1, frames[k], frames[k+1])
		}
	}
	see(t, p)
	if err := p.Write(io.Discard, "pdf"); err == nil {
		t.Error("a kind of picture that does not exist is written")
	}
}

// Of a surface that repeats the turn that was measured is outlined, and places of it lie there.
func TestOneTurnIsOutlined(t *testing.T) {
	j := threeLines(t)
	j.Placed = placed(t, 140, rising)
	want := orb.LineString{{0, 0}, {200, 0}, {200, 140}, {0, 140}, {0, 0}}
	if got := j.stock(); !slices.EqualFunc(got, want, func(a, b orb.Point) bool { return math.Hypot(a[0]-b[0], a[1]-b[1]) < 1e-6 }) {
		t.Errorf("%v", got)
	}
}

// Only what is around a small job is shown, and it is said; a clamp at the edge is shown as a
// whole.
func TestAreaOfAJob(t *testing.T) {
	j := threeLines(t)
	m, err := j.mapOf(ByDefocus, Wide)
	if err != nil || m.Low != [2]float64{0, 0} || m.Top != [2]float64{200, 120} || m.Over.Beyond != "" {
		t.Errorf("%v to %v, %q, %v", m.Low, m.Top, m.Over.Beyond, err)
	}
	j.Boxes = []surface.Box{{X0: -10, Y0: 10, X1: 5, Y1: 30, Height: 12}, {X0: 900, Y0: 10, X1: 950, Y1: 30, Height: 12}}
	if m, err = j.mapOf(ByDefocus, Wide); err != nil || m.Low != [2]float64{-10, 0} || m.Top != [2]float64{200, 120} {
		t.Errorf("with a clamp: %v to %v, %v", m.Low, m.Top, err)
	}
	j.Trace = traceOf(j.Placed, 1, 1, func(orb.Point) float64 { return 0 }, orb.LineString{{50, 50}, {60, 54}})
	if m, err = j.mapOf(ByDefocus, Wide); err != nil || m.Low != [2]float64{45, 42} || m.Top != [2]float64{65, 62} || m.Over.Beyond == "" {
		t.Errorf("a small one: %v to %v, %q, %v", m.Low, m.Top, m.Over.Beyond, err)
	}
}

// luminance is that of W3C, Web Content Accessibility Guidelines 2.2, "relative luminance".
func luminance(c color.NRGBA) float64 {
	of := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*of(c.R) + 0.7152*of(c.G) + 0.0722*of(c.B)
}

func contrast(a, b color.NRGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Colours of data on a page's paper are seen on white and on dark: a contrast of 3 to 1, as
// WCAG 2.2 wants it of graphics (1.4.11). Those on a map are seen on all that is under them.
func TestDataColoursAreSeen(t *testing.T) {
	for name, c := range map[string]color.NRGBA{"chosen": chosen, "outside": outside, "slower": slower} {
		for _, paper := range []color.NRGBA{{255, 255, 255, 255}, {0x1e, 0x1e, 0x1e, 255}} {
			if got := contrast(c, paper); got < 3 {
				t.Errorf("%s on %v: %.2f", name, paper, got)
			}
		}
	}
	darkest := light(scale)[0].(color.NRGBA)
	if got := contrast(spent[2], darkest); got < 4.5 {
		t.Errorf("what spends most on the darkest of a map: %.2f", got)
	}
	for k := range spent[1:] {
		if luminance(spent[k+1]) > luminance(spent[k])*0.6 {
			t.Errorf("classes %d and %d are alike in grey", k, k+1)
		}
	}
}

// What is drawn on the page is in its ink and paper, and what lies on a map is not; texts
// that look like styles stay as they are.
func TestInlineFollowsThePage(t *testing.T) {
	j := threeLines(t)
	j.Trace.Programs[0].Name = hostile[7]
	p, err := j.Above(ByZone, Narrow)
	if err != nil {
		t.Fatal(err)
	}
	text, err := p.Inline("a", "b")
	if err != nil {
		t.Fatal(err)
	}
	texts, _, err := parsed(text)
	if err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(texts, "\n"); !strings.Contains(all, hostile[7]) {
		t.Errorf("the name is changed: %s", all)
	}
	for _, want := range []string{"var(--ink,#000)", "var(--paper,#fff)", "#010101"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s", want)
		}
	}
	if left := regexp.MustCompile(`style="[^"]*#(000000|FFFFFF)`).FindString(text); left != "" {
		t.Errorf("not the page's: %s", left)
	}
	if strings.Contains(text, "<?xml") || strings.Contains(text, "xlink") {
		t.Error("it is a document of its own")
	}
}

// Bars by speed are as high as what is burned at it, in order, and there are none where
// nothing is known of it.
func TestSpeeds(t *testing.T) {
	j := threeLines(t)
	if p, err := j.Speeds(Wide); p != nil || err != nil {
		t.Fatalf("%v, %v", p, err)
	}
	j.Lost, j.BurnedMM = []float64{60, 60, 20, 0, 0, 0, 0, 0, 0}, 100
	p, err := j.Speeds(Wide)
	if err != nil {
		t.Fatal(err)
	}
	s := see(t, p)
	for x, want := range map[float64]float64{5: 40, 15: 0, 25: 40, 35: 20, 45: 0} {
		colour := slower
		if x < 10 {
			colour = chosen
		}
		if want > 0 && !like(s.at(x, want-2, 0), colour) || like(s.at(x, want+2, 0), colour) {
			t.Errorf("the bar at %g %% is not %g %% high", x, want)
		}
	}
	svg, _, err := p.svg()
	if err != nil {
		t.Fatal(err)
	}
	texts, _, err := parsed(string(svg))
	if all := strings.Join(texts, "\n"); err != nil || !strings.Contains(all, "more than a tenth slower than in the original: 60 % of 0.1 m") {
		t.Errorf("%v: %s", err, all)
	}
}
