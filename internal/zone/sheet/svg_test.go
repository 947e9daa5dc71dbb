package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// What is drawn is as long on the paper as its scale says, and the axes say where it is.
func TestMapIsToScale(t *testing.T) {
	for _, far := range []float64{0, 1900} {
		s := twoZones(t, 1)
		s.Zones[0].Lines.Straight(60, 10, 60+far, 10)
		s.Zones[0].Bound = s.Zones[0].Lines.Bound()
		l := s.layout()
		text := page(t, s, 0).String()
		burn := regexp.MustCompile(`<path d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)[^"]*" fill="none" stroke="#[0-9a-f]+" stroke-width="0.35"`).FindStringSubmatch(text)
		if burn == nil || (l.Per != 1) != (far > 0) {
			t.Fatalf("%+v\n%s", l, text)
		}
		var v [4]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(burn[i+1], 64)
		}
		if long := math.Hypot(v[2]-v[0], v[3]-v[1]); math.Abs(long*l.Per-math.Hypot(30, 80)) > 0.002*l.Per {
			t.Errorf("1 : %g: %g mm long on the paper", l.Per, long)
		}
		// It begins at X60: the tick of the number 60, or of 200 less 140.
		n := map[bool]float64{true: 60, false: 200}[l.Per == 1]
		tick := regexp.MustCompile(fmt.Sprintf(`<text x="([0-9.]+)" [^>]*text-anchor="middle">%g<`, n)).FindStringSubmatch(text)
		if tick == nil {
			t.Fatalf("no %g in\n%s", n, text)
		}
		if x, _ := strconv.ParseFloat(tick[1], 64); math.Abs(x-v[0]-(n-60)/l.Per) > 0.002 {
			t.Errorf("1 : %g: X60 at %g, the number %g at %g", l.Per, v[0], n, x)
		}
	}
}

// Where burns are left out of the picture, it says so, and of which zone.
func TestMapSaysWhatItLeavesOut(t *testing.T) {
	for lines, want := range map[int]int{1000: 0, 100_000: 1} {
		s := twoZones(t, lines)
		text := ""
		l := s.layout()
		for k := range l.Pages() {
			text += page(t, s, k).String()
		}
		all := strings.Count(text, "too many burns to draw all of them here")
		some := len(regexp.MustCompile(`>2  lens .*; one of \d+ lines is drawn<`).FindAllString(text, -1))
		if all != want || some != want || strings.Count(text, "is drawn<") != want {
			t.Errorf("%d lines: said %d times, and of %d zones", lines, all, some)
		}
	}
}
