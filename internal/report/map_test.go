package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"sagitta/internal/fit"
	"sagitta/internal/surface"
)

// The scale gets lighter all the way, so that grey print keeps the order, and
// bluer to yellower, which red-green blindness leaves apart.
func TestScaleIsOrdered(t *testing.T) {
	m := colours(scale, 0, 1)
	lastGrey, lastYellow := -1.0, math.Inf(-1)
	for k := range 101 {
		c, err := m.At(float64(k) / 100)
		if err != nil {
			t.Fatal(err)
		}
		r, g, b, _ := c.RGBA()
		// Luma of ITU-R BT.601, as printers and photocopiers make grey.
		grey := (0.299*float64(r) + 0.587*float64(g) + 0.114*float64(b)) / 65535
		yellow := (float64(r)+float64(g))/2 - float64(b)
		if grey <= lastGrey || k%25 == 0 && yellow <= lastYellow && k < 75 {
			t.Fatalf("at %d %%: grey %v after %v, yellow %v after %v", k, grey, lastGrey, yellow, lastYellow)
		}
		lastGrey = grey
		if k%25 == 0 {
			lastYellow = yellow
		}
	}
	if lastGrey < 0.8 {
		t.Errorf("the lightest is %v", lastGrey)
	}
}

func TestMap(t *testing.T) {
	m := &Map{Title: "a <map> & more", Low: [2]float64{0, 0}, Top: [2]float64{300, 100},
		At:      func(x, y float64) (float64, bool) { return math.Sin(x / 50), x <= 250 || y <= 50 },
		Places:  []Place{{surface.Point{X: 10, Y: 10, Z: math.Sin(0.2) - 0.012, Line: 3}, 1}, {surface.Point{X: 200, Y: 80, Z: math.Sin(4)}, 0}, {surface.Point{X: 150, Y: 20, Z: math.Sin(3)}, 8}},
		LeftOut: []LeftOut{{fit.LeftOut{Point: surface.Point{X: 100, Y: 50, Line: 7}, OffMM: 1.5}, 5, "line 7"}, {fit.LeftOut{Point: surface.Point{X: 60, Y: 80, Line: 9}, OffMM: -1.5}, 0, "line 9"}},
		Doubts:  []fit.Doubt{{What: "may be a step", Mend: "touch there again", Places: []surface.Point{{X: 150, Y: 20}}}},
		Datum:   &[2]float64{20, 80}, Outline: []orb.Point{{30, 10}, {220, 10}, {120, 60}, {30, 10}}}
	var svg bytes.Buffer
	if err := m.Draw(&svg, "svg"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{">5, line 7 left out: +1.50<", ">line 9 left out: \u22121.50<", ">1 \u22120.012<", ">datum<", ">8 a?<", ">\u22120.5<", ">0.5<", ">contours every 0.5 mm, with their heights<",
		">a: may be a step; touch there again<", ">left out: 2 touches, with how many mm off<", ">around what the job burns<", ">left white: no height is known there<", "stroke-dasharray", "height, mm", "data:image/png;base64"} {
		if !strings.Contains(svg.String(), want) {
			t.Errorf("no %q in the picture", want)
		}
	}
	if strings.Contains(svg.String(), "0.000") {
		t.Error("a place is off by nothing, and says so")
	}
	whole := *m
	whole.At = func(x, y float64) (float64, bool) { return math.Sin(x / 50), true }
	var again bytes.Buffer
	if err := whole.Draw(&again, "svg"); err != nil || strings.Contains(again.String(), "left white") {
		t.Errorf("%v, or white is said of a map without holes", err)
	}
	for range 3 {
		again.Reset()
		if err := m.Draw(&again, "svg"); err != nil || !bytes.Equal(svg.Bytes(), again.Bytes()) {
			t.Error("the same map gives another picture")
		}
	}
	for d := xml.NewDecoder(&svg); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("no XML: %v", err)
		}
	}
	var b bytes.Buffer
	if err := m.Draw(&b, "png"); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if s := img.Bounds().Size(); s.X < 800 || s.Y < 300 {
		t.Errorf("picture of %v", s)
	}
	m.At = func(x, y float64) (float64, bool) { return 2, true } // level: no contours
	svg.Reset()
	if err := m.Draw(&svg, "svg"); err != nil || !strings.Contains(svg.String(), ">flat: every height is 2 mm, so there are no contours<") {
		t.Errorf("a flat one: %v, %s", err, svg.String())
	}
	m.At = func(x, y float64) (float64, bool) { return 2, false }
	if err := m.Draw(io.Discard, "svg"); err == nil {
		t.Error("a map without heights is drawn")
	}
	if err := m.Draw(io.Discard, "pdf"); err == nil {
		t.Error("a kind of picture that does not exist is drawn")
	}
}
