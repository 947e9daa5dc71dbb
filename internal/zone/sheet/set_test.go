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
		s.Zones[i].Lines = NewLines(Spool(filepath.Join(t.TempDir(), "lines.tmp")), 2)
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
func written(t *testing.T, write func(*bufio.Writer) error) *bytes.Buffer {
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

// The picture is XML whatever the names are, and does not grow without bound.
func TestPictureIsXML(t *testing.T) {
	for _, lines := range []int{1, 100_000} {
		s := twoZones(t, lines)
		b := written(t, s.writeSVG)
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
		for _, want := range []string{"Focus zones of a<b>&c", `1  "short" & sharp, focus +1.500 mm`, `2  "short" & sharp, focus +0.500 mm`} {
			if !strings.Contains(text, want) {
				t.Errorf("no %q in %q", want, text)
			}
		}
	}
}

// The sheet says where to set the focus, and what is off there.
func TestBench(t *testing.T) {
	for _, c := range []struct {
		change func(*Set)
		want   []string
		not    []string
	}{
		{func(s *Set) {}, []string{
			"FOCUS ZONES OF a<b>&c.gcode", "Before each program set the focus on the stock at its focus point, at Z0,", "and none fewer would do:",
			"  heights 0.000, 1.200 are burned, any two of them further apart\n  than the 1.000 mm that one setting serves.", "[ ] 1  a-1.gcode", "      focus point  X75.000 Y50.000\n",
			"      focus point  X25.000 Y50.000, 3.0 mm from the nearest burn\n",
			"the stock is 0.470 mm high there: set the focus, then move the lens 0.030 mm away from the stock",
		}, []string{"rehearsals", "overlap", "divisions", "waits", "note"}},
		{func(s *Set) { s.Paused, s.Zones[1].Stop, s.Zones[1].FocusStop, s.FirstZ = true, 7, 9, -1.5 }, []string{
			"One program for all: it waits before it moves,", "beam off, and waits at Z-1.5.", "      waits        on line 7 for lens and height, and on line 9 here\n"}, nil},
		{func(s *Set) { s.SetZ, s.Rehearsal, s.Overlap = true, true, 0.5 }, []string{
			"The programs write Z themselves.", "These are rehearsals: the beam stays off.", "Seams overlap by up to 0.5 mm."}, nil},
		{func(s *Set) { s.Followed = true }, []string{"The programs follow the surface within their zones"}, []string{"none fewer"}},
		{func(s *Set) { s.Lenses[0].Lows = s.Lenses[0].Lows[:1] }, []string{"2 of the zones."}, []string{"none fewer"}}, // one may do
		{func(s *Set) { s.Lenses[0].Zones = 1 }, nil, []string{"none fewer"}},                                           // a zone had no burns
		{func(s *Set) { s.CrankMM = 0.35 }, []string{"from datum   +1.500 mm, +4 divisions of the crank and +0.100 mm\n"}, nil},
		{func(s *Set) { s.Zones[0].Raised, s.Zones[0].Raise, s.Zones[1].Lift = make([]Raise, 2), 1.231, 0.25 }, []string{
			"it waits 2 times for the lens to be raised by up to 1.24 mm, and to be brought back", "are lifted by 0.250 mm to be clear"}, nil},
	} {
		s := twoZones(t, 1)
		c.change(s)
		b := written(t, s.writeBench)
		for _, want := range c.want {
			if !strings.Contains(b.String(), want) {
				t.Errorf("no %q in\n%s", want, b.String())
			}
		}
		for _, not := range c.not {
			if strings.Contains(b.String(), not) {
				t.Errorf("%q in\n%s", not, b.String())
			}
		}
	}
	if got := list([]float64{1, 2, 3, 4, 5, 6, 7, 8}); got != "1.000, 2.000, 3.000, 4.000, 5.000, ... 8.000" {
		t.Errorf("%s", got)
	}
}
