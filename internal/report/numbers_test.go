package report

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"sagitta/internal/fit"
	"sagitta/internal/touch"
)

func measured(t *testing.T, text string, opt fit.MeasuredOptions) *fit.Measured {
	t.Helper()
	r, err := touch.Read(strings.NewReader(text), "log", touch.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := fit.Measure("log", r, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Places have the numbers of their sheet, also behind a line that was left blank and the
// first touched again at the end; in a grid they go row by row; a place that is touched
// twice has one.
func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []int
	}{
		{"a sheet", "nr,x,y,z\n1,0,0,0\n2,9,0,0.1\n3,0,9,0.2\n4,9,9,0.4\n1,0,0,0\n", []int{1, 2, 3, 4}},
		{"one left blank", "nr,x,y,z\n1,0,0,0\n2,9,0,0.1\n3,18,0,\n4,0,9,0.2\n5,9,9,0.4\n1,0,0,0\n", []int{1, 2, 4, 5}},
		{"touched twice", "x,y,z\n0,0,0\n0.004,0,0.02\n9,0,0.1\n9,0,0.1\n0,9,0.2\n9,9,0.4\n", []int{1, 2, 3, 4}},
		{"a grid", "y\\x, 0, 9\n0, 0, 0.1\n9, 0.2, 0.4\n", []int{1, 2, 3, 4}},
	} {
		m := measured(t, c.text, fit.MeasuredOptions{})
		var got []int
		places, _ := numbered(m)
		for _, p := range places {
			got = append(got, p.Number)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// What is left out has the number of its place as well, and is doubted.
func TestLeftOutIsNumbered(t *testing.T) {
	var log strings.Builder
	log.WriteString("x,y,z\n")
	for k := range 36 {
		z := 0.01*float64(k%6) + 0.02*float64(k/6)
		if k == 14 {
			z += 2
		}
		fmt.Fprintf(&log, "%d,%d,%.3f\n", k%6*10, k/6*10, z)
	}
	m := measured(t, log.String(), fit.MeasuredOptions{})
	c, err := mapOf(m, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Doubts) == 0 || len(c.Doubts) != len(m.Doubts) {
		t.Errorf("%d doubts are drawn of %d", len(c.Doubts), len(m.Doubts))
	}
	places, out := c.Places, c.LeftOut
	if len(out) != 1 || out[0].Number != 15 || slices.ContainsFunc(places, func(p Place) bool { return p.Number == 15 }) || places[34].Number != 36 {
		t.Errorf("left out: %+v; places %+v", out, places)
	}
}

// The outline of a job, in program XY, is drawn where the surface has it.
func TestOutlineIsPlaced(t *testing.T) {
	m := measured(t, "x,y,z\n0,0,0\n90,0,0.1\n0,60,0.2\n90,60,0.4\n", fit.MeasuredOptions{Shift: &[2]float64{100, 200}, RotateDeg: 90})
	// R(90°)(10, 20) = (-20, 10).
	burns := orb.MultiLineString{{{80, 210}, {80, 250}, {60, 250}}, {{70, 240}, {80, 230}}}
	c, err := mapOf(m, burns)
	if err != nil {
		t.Fatal(err)
	}
	want := []orb.Point{{10, 20}, {50, 20}, {50, 40}}
	if len(c.Outline) != 4 || c.Outline[0] != c.Outline[3] {
		t.Fatalf("%v", c.Outline)
	}
	for _, w := range want {
		if !slices.ContainsFunc(c.Outline, func(q orb.Point) bool { return (q[0]-w[0])*(q[0]-w[0])+(q[1]-w[1])*(q[1]-w[1]) < 1e-12 }) {
			t.Errorf("no corner %v in %v", w, c.Outline)
		}
	}
	var with, without bytes.Buffer
	if err := SurfaceMap(&with, "svg", m, burns); err != nil {
		t.Fatal(err)
	}
	if err := SurfaceMap(&without, "svg", m, nil); err != nil || strings.Count(with.String(), "stroke-dasharray") != strings.Count(without.String(), "stroke-dasharray")+2 {
		t.Errorf("no dashed outline, and its sample below: %v", err)
	}
}
