package sheet

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// twoZones is a set of two zones on a slope, the second with so many short
// lines.
func twoZones(t *testing.T, lines int) *Set {
	s := &Set{Name: "dir/a<b>&c.gcode", Surface: sheet100(t, func(x, y float64) float64 { return x / 50 }),
		Lenses: []Lens{{Name: `"short" & sharp`, Usable: focus.Depth{Near: 0.5, Far: 0.5}, Zones: 2, Lows: []float64{0, 1.2}, SpacingMM: 1}},
		Zones: []Zone{
			{Order: 1, Focus: 1.5, Band: cover.Span{Lo: 1, Hi: 2}, Program: "a-1.gcode", Point: setup.FocusPoint{X: 75, Y: 50, Height: 1.5, FromMarks: 8}},
			{Order: 2, Focus: 0.5, Band: cover.Span{Lo: 0, Hi: 1}, Program: "a-2.gcode", Point: setup.FocusPoint{X: 25, Y: 50, Height: 0.47, FromMarks: 3}},
		}}
	for i := range s.Zones {
		s.Zones[i].Lines = NewLines(Spool(filepath.Join(t.TempDir(), "lines.tmp")), 2, new(Drawn))
	}
	s.Zones[0].Lines.Straight(60, 10, 90, 90)
	for i := range lines {
		x, y := float64(i%200)/5, float64(i/200)/5
		s.Zones[1].Lines.Straight(x, y, x+0.1, y+0.1)
	}
	for i := range s.Zones {
		s.Zones[i].Bound = s.Zones[i].Lines.Bound()
	}
	return s
}

// written is what is written.
func written(t interface{ Fatal(...any) }, write func(*bufio.Writer) error) *bytes.Buffer {
	var b bytes.Buffer
	w := bufio.NewWriter(&b)
	if err := errors.Join(write(w), w.Flush()); err != nil {
		t.Fatal(err)
	}
	return &b
}

// A zone's burns are one feature, whether they fit in memory or not, as long as
// they are.
func TestMapHasAllBurns(t *testing.T) {
	for _, lines := range []int{100, 100_000} {
		s := twoZones(t, lines)
		b := written(t, s.writeGeoJSON)
		fc, err := geojson.UnmarshalFeatureCollection(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]int{}
		length := 0.0
		for _, f := range fc.Features {
			got[fmt.Sprint(f.Properties["what"], f.Properties["order"])]++
			if list, is := f.Geometry.(orb.MultiLineString); is {
				length += planar.Length(list)
			}
		}
		if want := math.Hypot(30, 80) + float64(lines)*math.Hypot(0.1, 0.1); math.Abs(length-want) > 1e-6*want {
			t.Errorf("%d lines: %g mm, want %g", lines, length, want)
		}
		if want := map[string]int{"burns1": 1, "band1": 1, "focus1": 1, "burns2": 1, "band2": 1, "focus2": 1}; fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%d lines: features %v, want %v", lines, got, want)
		}
	}
}

// page is page k of a set's map.
func page(t interface{ Fatal(...any) }, s *Set, k int) *bytes.Buffer {
	return written(t, func(w *bufio.Writer) error { return s.writeSVG(w, s.layout(), newMesh(s.Surface), k) })
}

// The picture is XML whatever the names are, and does not grow without bound.
func TestPictureIsXML(t *testing.T) {
	for _, lines := range []int{1, 100_000} {
		s := twoZones(t, lines)
		s.Boxes, s.Datum = []surface.Box{{X0: 40, Y0: 40, X1: 50, Y1: 60, Height: 12}}, &[2]float64{5, 5}
		b := page(t, s, 0)
		if b.Len() > 4<<20 {
			t.Errorf("%d lines: %d bytes", lines, b.Len())
		}
		text := ""
		d := xml.NewDecoder(b)
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if c, is := token.(xml.CharData); is {
				text += string(c)
			}
		}
		for _, want := range []string{"Focus zones of a<b>&c", `1  lens "short" & sharp, focus 1.500 mm over the datum`, `2  lens "short" & sharp, focus 0.500 mm over`,
			"1 : 1, page 1 of 1", "50 mm, when printed at 100 %", "12 mm high", "datum", "X, mm", "Y, mm"} {
			if !strings.Contains(text, want) {
				t.Errorf("no %q in %q", want, text)
			}
		}
	}
}
