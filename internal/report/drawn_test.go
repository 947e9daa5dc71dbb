package report

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
)

// placed is a surface of 200 by 120 mm that rises along x by 0.01 mm a mm.
func placed(t rapid.TB, wraps float64, height func(x, y float64) float64) *surface.Placed {
	var x, y, z []float64
	for i := range 11 {
		x = append(x, float64(i)*20)
	}
	for j := range 7 {
		y = append(y, float64(j)*20)
		for i := range 11 {
			z = append(z, height(x[i], y[j]))
		}
	}
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	if wraps > 0 {
		if s, err = s.WithHeader(surface.Header{WrapsYMM: wraps}); err != nil {
			t.Fatal(err)
		}
	}
	p, err := surface.Place(s, surface.Placement{Raw: true})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func rising(x, y float64) float64 { return x / 100 }

// traceOf is the trace of burns along lines over a surface with the focus at c: each line is a
// stretch and a stroke, and travels join them.
func traceOf(p *surface.Placed, near, far float64, c func(q orb.Point) float64, lines ...orb.LineString) *trace.Trace {
	t := &trace.Trace{Programs: []trace.Program{{Name: "job.gcode", Lens: "short", Near: near, Far: far, Lines: 2 * len(lines)}}}
	t.Share.MM = make([]float64, 40)
	t.Bounds = orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	var last orb.Point
	add := func(from, to orb.Point, line int, burns bool) {
		h0, _ := p.At(from[0], from[1])
		h1, _ := p.At(to[0], to[1])
		c0, c1 := c(from), c(to)
		span := func(a, b float64) trace.Range { return trace.Range{Lo: min(a, b), Hi: max(a, b)} }
		mm := math.Hypot(to[0]-from[0], to[1]-from[1])
		s := trace.Stretch{Line: line, LastLine: line, At: t.Seconds, Until: t.Seconds + mm/25, Burns: burns, Travels: !burns, Near: near, Far: far,
			C: span(c0, c1), Height: span(h0, h1), Defocus: span(c0-h0, c1-h1), Slowed: 1, From: from, To: to}
		t.Seconds = s.Until
		t.Stretches = append(t.Stretches, s)
		if !burns {
			t.Above.Travels = append(t.Above.Travels, orb.LineString{from, to})
			return
		}
		d, depth := s.Defocus.Hi, far
		if -s.Defocus.Lo/near > d/far {
			d, depth = s.Defocus.Lo, near
		}
		t.Above.Strokes = append(t.Above.Strokes, trace.Stroke{Line: line, Points: orb.LineString{from, to}, Defocus: d / depth, C: (c0 + c1) / 2})
		t.Share.MM[min(max(int((d/depth+2)*10), 0), 39)] += mm
		t.Share.Total += mm
		if math.Abs(d) <= depth {
			t.Share.Within += mm
		}
		at := to
		if math.Abs(c0-h0-d) < math.Abs(c1-h1-d) {
			at = from
		}
		place := trace.Place{Line: line, At: at, Defocus: d, Depth: depth, Seconds: t.Seconds}
		if len(t.Worst) == 0 {
			t.Worst = []trace.Place{place}
		} else if w := &t.Worst[0]; math.Abs(d)/depth > math.Abs(w.Defocus)/w.Depth {
			*w = place
		}
		t.Bounds = t.Bounds.Extend(from).Extend(to)
	}
	for k, l := range lines {
		if k > 0 {
			add(last, l[0], 2*k+1, false)
		}
		for i := range l[1:] {
			add(l[i], l[i+1], 2*k+2, true)
		}
		last = l[len(l)-1]
	}
	t.Travels = t.Bounds
	return t
}

// strange are numbers that no path has, and some that one has.
func strange(label string) *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64Range(-300, 300), rapid.SampledFrom([]float64{0, 0, 1e-9, 1e9, -1e300, math.NaN(), math.Inf(1), math.Inf(-1), 5e-324}))
}

// hostile are names that a page or a picture could stumble over.
var hostile = []string{"a.gcode", "<script>alert(1)</script>", "a&b\"'.nc", "\x00\x1b[31m\u202e\n\r\t", strings.Repeat("long ", 2000), "", "fill:#000000", `style="fill:#000000"`, "\xff\xfe", "]]>"}

// drawTrace draws a trace that may be anything that its types can hold.
func drawTrace(t *rapid.T) *trace.Trace {
	num := strange("n")
	at := func() orb.Point { return orb.Point{num.Draw(t, "x"), num.Draw(t, "y")} }
	span := func() trace.Range {
		a := num.Draw(t, "lo")
		return trace.Range{Lo: a, Hi: a + rapid.SampledFrom([]float64{0, 0.1, 1, -1, math.Inf(1), math.NaN()}).Draw(t, "long")}
	}
	name := rapid.SampledFrom(hostile)
	tr := &trace.Trace{Bounds: orb.Bound{Min: at(), Max: at()}, Seconds: rapid.SampledFrom([]float64{0, 1, 100, 1e6, 1e-9, math.NaN(), math.Inf(1), -1}).Draw(t, "seconds")}
	for range rapid.IntRange(0, 4).Draw(t, "programs") {
		tr.Programs = append(tr.Programs, trace.Program{Name: name.Draw(t, "name"), Lens: name.Draw(t, "lens"), FocusMM: num.Draw(t, "focus"),
			Near: math.Abs(num.Draw(t, "near")), Far: math.Abs(num.Draw(t, "far")), DefocusMM: num.Draw(t, "D"), Seconds: num.Draw(t, "begins")})
	}
	n := rapid.SampledFrom([]int{0, 1, 7, 60}).Draw(t, "stretches")
	for k := range n {
		s := trace.Stretch{Program: rapid.IntRange(-1, 4).Draw(t, "program"), Line: k, LastLine: k, At: float64(k) * tr.Seconds / float64(n), Until: float64(k+1) * tr.Seconds / float64(n),
			Burns: rapid.Bool().Draw(t, "burns"), Travels: rapid.Bool().Draw(t, "travels"), C: span(), Height: span(), Defocus: span(), ZSpeed: num.Draw(t, "speed"), ZStep: num.Draw(t, "step"), ZStepAt: num.Draw(t, "step at"), Slowed: num.Draw(t, "slowed"),
			Near: math.Abs(num.Draw(t, "near")), Far: math.Abs(num.Draw(t, "far")), WantedMM: num.Draw(t, "D"), Several: rapid.Bool().Draw(t, "several"), May: span(), Must: span()}
		if rapid.IntRange(0, 9).Draw(t, "odd") == 0 {
			s.At, s.Until = num.Draw(t, "at"), num.Draw(t, "until")
		}
		tr.Stretches = append(tr.Stretches, s)
	}
	if tr.Inertia = rapid.Bool().Draw(t, "inertia"); tr.Inertia {
		tr.ZStep = trace.ZStep{MMS: num.Draw(t, "greatest step"), Program: rapid.IntRange(-1, 4).Draw(t, "program"), At: at(), Seconds: num.Draw(t, "at")}
	}
	if rapid.Bool().Draw(t, "cells") {
		c := &trace.Cells{Bounds: orb.Bound{Min: at(), Max: at()}, NX: rapid.IntRange(1, 30).Draw(t, "nx"), NY: rapid.IntRange(1, 30).Draw(t, "ny")}
		for range c.NX * c.NY {
			c.Defocus = append(c.Defocus, float32(num.Draw(t, "defocus")))
			c.C = append(c.C, float32(num.Draw(t, "c")))
			c.Program = append(c.Program, int32(rapid.IntRange(-1, 5).Draw(t, "program")))
			c.Line = append(c.Line, 1)
		}
		tr.Above.Cells = c
	} else {
		for range rapid.SampledFrom([]int{0, 1, 5, 80}).Draw(t, "strokes") {
			s := trace.Stroke{Program: rapid.IntRange(-1, 5).Draw(t, "program"), Defocus: num.Draw(t, "defocus"), C: num.Draw(t, "c")}
			for range rapid.IntRange(0, 4).Draw(t, "points") {
				s.Points = append(s.Points, at())
			}
			tr.Above.Strokes = append(tr.Above.Strokes, s)
		}
		tr.Above.Travels = []orb.LineString{{at(), at()}, {}, {at()}}
	}
	shares := func() trace.Share {
		s := trace.Share{MM: make([]float64, rapid.SampledFrom([]int{0, 1, 40}).Draw(t, "bins")), Within: num.Draw(t, "within"), Total: num.Draw(t, "total")}
		for k := range s.MM {
			s.MM[k] = num.Draw(t, "mm")
		}
		return s
	}
	tr.Share = shares()
	if rapid.Bool().Draw(t, "before") {
		before := shares()
		tr.Before = &before
	}
	if rapid.Bool().Draw(t, "worst") {
		tr.Worst = []trace.Place{{At: at(), Defocus: num.Draw(t, "defocus"), Depth: num.Draw(t, "depth"), Line: 7, Text: name.Draw(t, "text")}}
	}
	for range rapid.IntRange(0, 5).Draw(t, "waits") {
		tr.Waits = append(tr.Waits, trace.Wait{Seconds: num.Draw(t, "at"), Stop: rapid.Bool().Draw(t, "stop"), Remark: name.Draw(t, "remark")})
	}
	tr.Waiting = len(tr.Waits)
	return tr
}

// Whatever a trace has, pictures of it are drawn, as text that any reader of XML takes.
func TestAnyTraceIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.IntRange(0, 3).Draw(t, "surface")
		j := &Job{Title: rapid.SampledFrom(hostile).Draw(t, "title"), Verdict: rapid.SampledFrom(hostile).Draw(t, "verdict"), Trace: drawTrace(t),
			Placed: placed(t, []float64{0, 140, 0, 0}[kind], []func(x, y float64) float64{rising, func(x, y float64) float64 { return 0 },
				func(x, y float64) float64 { return 2 }, func(x, y float64) float64 {
					if x > 100 {
						return math.NaN()
					}
					return y
				}}[kind]),
			Boxes: []surface.Box{{X0: -30, Y0: 10, X1: 5, Y1: 30, Height: 12}, {X0: 1e5, Y0: 0, X1: 1e6, Y1: 1, Height: 1}}}
		if rapid.Bool().Draw(t, "focus") {
			j.Focus, j.Datum = &[2]float64{10, 20}, &[2]float64{500, 20}
		}
		j.Touched = j.Placed.Surface().Points()
		width := rapid.SampledFrom([]Width{Wide, Narrow}).Draw(t, "width")
		p, err := j.Figure(rapid.SampledFrom([]By{ByDefocus, ByZone, ByC}).Draw(t, "by"), width)
		if err != nil {
			t.Fatal(err)
		}
		wellFormed(t, p)
	})
}

// ofTexts finds what texts of an element hold.
var ofTexts = regexp.MustCompile(">[^<]*<")

// wellFormed wants a picture that is XML, without marks of a page but in texts, of numbers
// that are finite.
func wellFormed(t rapid.TB, p *Picture) {
	text, err := p.Inline(hostile[1], hostile[3])
	if err != nil {
		t.Fatal(err)
	}
	if _, _, bad := parsed(text); bad != nil {
		t.Fatalf("%v in %s", bad, text)
	}
	text = ofTexts.ReplaceAllString(text, "><")
	for _, no := range []string{"<script", "NaN", "+Inf", "-Inf", " id="} {
		if k := strings.Index(text, no); k >= 0 {
			t.Fatalf("%q in a picture: …%s…", no, text[max(0, k-200):min(len(text), k+60)])
		}
	}
}

// A picture of thousands of stretches is drawn at once.
func TestManyStretchesAreDrawn(t *testing.T) {
	p := placed(t, 0, rising)
	var lines []orb.LineString
	for k := range 2000 {
		y := float64(k) * 0.06
		lines = append(lines, orb.LineString{{5, y}, {195, y}})
	}
	tr := traceOf(p, 1, 1, func(q orb.Point) float64 { return q[0] / 120 }, lines...)
	j := &Job{Title: "many", Placed: p, Trace: tr}
	f, err := j.Figure(ByDefocus, Narrow)
	if err != nil {
		t.Fatal(err)
	}
	text, err := f.Inline("many", fmt.Sprint(len(tr.Stretches)))
	if err != nil {
		t.Fatal(err)
	}
	if len(text) > 1_500_000 {
		t.Errorf("%d bytes", len(text))
	}
}
