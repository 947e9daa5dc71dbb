package report

import (
	"bytes"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
	"pgregory.net/rapid"
)

// Where heights are less sure there are dots, of which the larger say that they are less so,
// none where they are surest or there is no height; and a note says what they mean.
func TestDotsWhereLessSure(t *testing.T) {
	s := &Sure{At: func(x, y float64) float64 { return 0.02 + max(0, x-100)/1000 }, Least: 0.02, Greatest: 0.22}
	for x, want := range map[float64]int{0: 0, 100: 0, 101: 1, 199: 3, 300: dotSizes} {
		if got := s.size(x, 0); got != want {
			t.Errorf("at x %v a dot of size %d, not %d", x, got, want)
		}
	}
	m := &Map{Title: "sheet", Low: [2]float64{0, 0}, Top: [2]float64{300, 100}, At: func(x, y float64) (float64, bool) { return x / 100, true }}
	draw := func() string {
		var b bytes.Buffer
		if err := m.Draw(&b, "svg"); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	bare := draw()
	m.Sure = s
	dotted := draw()
	const note = ">dots: where heights are less sure, the larger the dot the less; standard uncertainty from 0.02 mm, where there are none, to 0.22 mm<"
	if strings.Contains(bare, "dots") || !strings.Contains(dotted, note) || len(dotted) < len(bare)+10_000 {
		t.Errorf("%d bytes, dotted %d", len(bare), len(dotted))
	}
	m.At = func(x, y float64) (float64, bool) { return x / 100, x < 100 }
	if n := len(draw()); n > len(bare)+10_000 {
		t.Errorf("dots where there is no height: %d bytes", n)
	}
}

// Dots keep clear of texts and marks: numbers of places are to be read.
func TestDotsKeepClearOfTexts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMapOf(t)
		m.Sure = &Sure{At: func(x, y float64) float64 { return 0.1 }, Least: 0.02, Greatest: 0.1}
		wide, high := m.size()
		p := m.panel(m.sample())
		var actions recorder.Canvas
		m.drawMap(draw.NewCanvas(&actions, wide+axisRoom, high+axisRoom), p)
		dots := 0
		for _, a := range actions.Actions {
			fill, ok := a.(*recorder.Fill)
			if !ok {
				continue
			}
			for _, c := range fill.Path {
				if c.Type != vg.ArcComp {
					continue
				}
				dots++
				for _, text := range p.labels.texts {
					if dot := boxOf(c.Pos, c.Radius); cut(dot, text.box).Min.X < cut(dot, text.box).Max.X && cut(dot, text.box).Min.Y < cut(dot, text.box).Max.Y {
						t.Fatalf("a dot at %v lies over %q", c.Pos, text.text)
					}
				}
			}
		}
		if dots == 0 {
			t.Fatal("no dots")
		}
	})
}
