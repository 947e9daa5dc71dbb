package report

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
	"pgregory.net/rapid"

	"sagitta/internal/fit"
	"sagitta/internal/surface"
)

func drawMapOf(t *rapid.T) *Map {
	wide := rapid.SampledFrom([]float64{10, 100, 300}).Draw(t, "wide")
	high := rapid.SampledFrom([]float64{10, 120, 300}).Draw(t, "high")
	x, y := rapid.Float64Range(-200, 200).Draw(t, "x"), rapid.Float64Range(-200, 200).Draw(t, "y")
	tall := rapid.SampledFrom([]float64{0, 1e-5, 0.003, 0.4, 25}).Draw(t, "tall")
	a, b := rapid.Float64Range(0, 3).Draw(t, "a"), rapid.Float64Range(0, 3).Draw(t, "b")
	hole := rapid.Bool().Draw(t, "hole")
	m := &Map{Title: "t", Low: [2]float64{x, y}, Top: [2]float64{x + wide, y + high},
		At: func(px, py float64) (float64, bool) {
			u, v := (px-x)/wide, (py-y)/high
			return tall * (math.Sin(a*u*math.Pi) + math.Cos(b*v*math.Pi) + 0.1*u), !hole || math.Hypot(u-0.7, v-0.6) > 0.2
		}}
	for k := range rapid.SampledFrom([]int{0, 9, 60, 400}).Draw(t, "places") {
		p := surface.Point{X: x + wide*rapid.Float64Range(0, 1).Draw(t, "at"), Y: y + high*float64(k*37%101)/100}
		p.Z, _ = m.At(p.X, p.Y)
		p.Z += rapid.SampledFrom([]float64{0, 0.0004, -0.0004, 0.0123}).Draw(t, "off")
		m.Places = append(m.Places, Place{p, k + 1})
	}
	if len(m.Places) > 3 {
		d := m.Places[0]
		m.Datum = &[2]float64{d.X, d.Y}
		m.LeftOut = []LeftOut{{fit.LeftOut{Point: m.Places[1].Point, OffMM: -2}, 2, ""}, {fit.LeftOut{Point: m.Places[2].Point, OffMM: 2}, 0, ""}}
		m.Doubts = []fit.Doubt{{What: "w", Mend: "m", Places: []surface.Point{m.Places[3].Point}}}
	}
	return m
}

// drawn draws the map's panel into nothing.
func drawn(m *Map) *panel {
	wide, high := m.size()
	p := m.panel(m.sample())
	m.drawMap(draw.NewCanvas(new(recorder.Canvas), wide+axisRoom, high+axisRoom), p)
	return p
}

var height = regexp.MustCompile("^\u2212?[0-9.]+$")

// No text on a map lies over another or over a mark of something else, or beyond the edge;
// the label of a contour is where the surface is as high, and each contour of some length
// that has room has one; no place is said to be off by nothing.
func TestTextsAreApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMapOf(t)
		p := drawn(m)
		of := map[string]*contour{}
		for k := range p.lines {
			of[p.lines[k].text] = &p.lines[k]
		}
		seen := map[string]bool{}
		for k, a := range p.labels.texts {
			edge := p.canvas.Rectangle
			if a.box.Min.X < edge.Min.X || a.box.Max.X > edge.Max.X || a.box.Min.Y < edge.Min.Y || a.box.Max.Y > edge.Max.Y {
				t.Fatalf("%q lies beyond the edge: %v in %v", a.text, a.box, edge)
			}
			for _, b := range p.labels.texts[:k] {
				if a.box.Min.X < b.box.Max.X && b.box.Min.X < a.box.Max.X && a.box.Min.Y < b.box.Max.Y && b.box.Min.Y < a.box.Max.Y {
					t.Fatalf("%q lies over %q", a.text, b.text)
				}
			}
			if strings.HasSuffix(a.text, "0.000") || strings.Contains(a.text, "-") {
				t.Fatalf("%q", a.text)
			}
			if !height.MatchString(a.text) {
				continue
			}
			c := of[a.text]
			middle := vg.Point{X: (a.box.Min.X + a.box.Max.X) / 2, Y: (a.box.Min.Y + a.box.Max.Y) / 2}
			if c == nil || !passes(c.lines, middle) {
				if n, err := strconv.Atoi(a.text); err == nil && n <= len(m.Places) && besideIts(p, m.Places[n-1], a.box) {
					continue // the number of a place
				}
				t.Fatalf("%q is on no contour of that height", a.text)
			}
			// The library's lines are straight across cells, so that is near.
			if z, _ := m.At(p.back(middle)); math.Abs(z-c.level) > 0.1*interval(p.g.low, p.g.high) {
				t.Fatalf("%q is where the surface is %g high", a.text, z)
			}
			seen[a.text] = true
		}
		for _, c := range p.lines {
			if len(m.Places) == 0 && !seen[c.text] && slices.ContainsFunc(c.lines, func(line []vg.Point) bool { return roomy(p, line) }) {
				t.Fatalf("no label %q on a contour", c.text)
			}
		}
	})
}

// roomy reports whether a line has points well within what is drawn, far enough apart for
// labels of several contours.
func roomy(p *panel, line []vg.Point) bool {
	var in []vg.Point
	for _, at := range line {
		well := true
		for _, d := range [...]vg.Point{{X: 30}, {X: -30}, {Y: 15}, {Y: -15}} {
			x, y := p.back(at.Add(d))
			_, there := p.m.At(x, y)
			well = well && there && x > p.m.Low[0] && x < p.m.Top[0] && y > p.m.Low[1] && y < p.m.Top[1]
		}
		if well {
			in = append(in, at)
		}
	}
	return len(in) > 1 && apart(in[0], in[len(in)-1]) > 6*vg.Centimeter
}

// passes reports whether lines lead through a point.
func passes(lines [][]vg.Point, at vg.Point) bool {
	for _, line := range lines {
		for k := range line[1:] {
			if d := apart(line[k], at) + apart(at, line[k+1]) - apart(line[k], line[k+1]); d < 1e-6 {
				return true
			}
		}
	}
	return false
}

// besideIts reports whether a box is right beside a place.
func besideIts(p *panel, q Place, box vg.Rectangle) bool {
	at, near := p.at(q.X, q.Y), touchedMark.radius+2*markGap
	return box.Min.X-near < at.X && at.X < box.Max.X+near && box.Min.Y-near < at.Y && at.Y < box.Max.Y+near
}
