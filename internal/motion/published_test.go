package motion

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// rows reads a table of testdata, whose head says where its values come from.
func rows(t *testing.T, name string) (list []map[string]string) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var names []string
	for lines := bufio.NewScanner(f); lines.Scan(); {
		text := lines.Text()
		switch fields := strings.Split(text, ","); {
		case strings.HasPrefix(text, "#"):
		case names == nil:
			names = fields
		default:
			row := map[string]string{}
			for k, v := range fields {
				row[names[k]] = v
			}
			list = append(list, row)
		}
	}
	if len(list) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return list
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestAxisInShortestTime holds one axis without a limit of jerk, from rest to rest, to the
// shortest times of the ruckig library (L. Berscheid and T. Kröger, Robotics: Science and
// Systems 2021); with a limit of jerk nothing may be slower without one.
func TestAxisInShortestTime(t *testing.T) {
	for _, c := range rows(t, "motion_axis.csv") {
		if number(t, c["v0"]) != 0 || number(t, c["v1"]) != 0 || number(t, c["a0"]) != 0 {
			continue // a planner begins from rest
		}
		d, v, a := number(t, c["p1"])-number(t, c["p0"]), number(t, c["vmax"]), number(t, c["amax"])
		got, want := seconds(planned(Limits{Accel: Vector{a}}, []Move{{By: Vector{d}, Speed: v}})), number(t, c["T"])
		if number(t, c["jmax"]) == 0 && math.Abs(got-want) > 1e-8 || got > want+1e-8 {
			t.Errorf("%s: %v s, not %v", c["case"], got, want)
		}
	}
}

// TestLinesInShortestTime holds polylines with a stop at each corner to the shortest times
// along them, and below to those of the slowest axis alone (ruckig, and the closed form).
func TestLinesInShortestTime(t *testing.T) {
	for _, c := range rows(t, "motion_lines.csv") {
		var moves []Move
		var from Vector
		for k, corner := range strings.Split(c["vertices"], ";") {
			var to, by Vector
			for x, v := range strings.Fields(corner) {
				to[x] = number(t, v)
				by[x] = to[x] - from[x]
			}
			if k > 0 {
				moves = append(moves, Move{By: by, Speed: math.Inf(1)})
			}
			from = to
		}
		var l Limits
		for x, axis := range []string{"x", "y", "z"} {
			l.Speed[x], l.Accel[x] = number(t, c["v"+axis]), number(t, c["a"+axis])
		}
		got := seconds(planned(l, moves))
		if want := number(t, c["T_line"]); math.Abs(got-want) > 1e-8 {
			t.Errorf("%s: %v s, not %v", c["case"], got, want)
		}
		if least := number(t, c["T_free"]); got < least-1e-8 {
			t.Errorf("%s: %v s, and no axis alone is quicker than %v", c["case"], got, least)
		}
	}
}

// TestCurvesBesideShortestTime holds curves of chords, passed at the speed of the circle that
// the chords belong to at the sharpest place, to the shortest time that there is along them
// (TOPP-RA library; H. Pham and Q.-C. Pham, IEEE Transactions on Robotics 34 (2018) 645).
// A controller of trapezoids looks at accelerations along and across the path apart, so that
// an axis may take twice its limit, which is a time shorter by the root of 2 at most; and it
// must not be slower than the shortest by more than the chords are wrong.
func TestCurvesBesideShortestTime(t *testing.T) {
	curves := map[string]func(s float64) Vector{
		"line":     func(s float64) Vector { return Vector{s, 0, 0.015 * s} },
		"wave":     func(s float64) Vector { return Vector{s, 0, 0.4 * math.Sin(2*math.Pi*s/25)} },
		"wave_acc": func(s float64) Vector { return Vector{s, 0, 0.4 * math.Sin(2*math.Pi*s/25)} },
		"arc":      func(s float64) Vector { return Vector{s, 0, math.Sqrt(100*100-(s-30)*(s-30)) - 100} },
		"circle":   func(s float64) Vector { return Vector{10 * math.Cos(s), 10 * math.Sin(s), 0.3 * math.Cos(2*s)} },
	}
	for _, c := range rows(t, "motion_paths.csv") {
		at, known := curves[c["case"]]
		if !known {
			continue
		}
		var l Limits
		for x, axis := range []string{"x", "y", "z"} {
			l.Speed[x], l.Accel[x] = number(t, c["v"+axis]), number(t, c["a"+axis])
		}
		const chords = 2000
		end := number(t, c["smax"])
		var moves []Move
		from := at(0)
		for k := 1; k <= chords; k++ {
			to := at(end * float64(k) / chords)
			moves = append(moves, Move{By: Vector{to[0] - from[0], to[1] - from[1], to[2] - from[2]}, Speed: math.Inf(1)})
			from = to
		}
		// A chord of length b leaves a curve of radius r by b²/8r, and so does the corner of
		// two of them the circle through their middles.
		longest, sharpest := 0.0, math.Inf(1)
		for k := 1; k < chords; k++ {
			a, b := moves[k-1].By, moves[k].By
			la, lb := math.Sqrt(a[0]*a[0]+a[1]*a[1]+a[2]*a[2]), math.Sqrt(b[0]*b[0]+b[1]*b[1]+b[2]*b[2])
			turn := math.Sqrt(math.Pow(b[0]/lb-a[0]/la, 2) + math.Pow(b[1]/lb-a[1]/la, 2) + math.Pow(b[2]/lb-a[2]/la, 2))
			longest = max(longest, la)
			if turn > 0 {
				sharpest = min(sharpest, la/turn)
			}
		}
		l.CornerMM = longest * longest / (8 * sharpest)
		got, want := seconds(planned(l, moves)), number(t, c["T"])
		if got < want/math.Sqrt2 || got > want*1.01 {
			t.Errorf("%s: %v s, shortest %v", c["case"], got, want)
		}
	}
}
