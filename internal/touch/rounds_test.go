package touch

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
)

// A second round from another zero comes to that of the first by the datum, whatever else
// it touched; without a datum by places that bear each other out. What differs by chance
// stays, and what nothing bears out does too.
func TestLevel(t *testing.T) {
	const noise = 0.004
	sheet := sheets[1]
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		zero := rapid.SampledFrom([]float64{0, 0.15, -0.213, 2.5}).Draw(t, "zero")
		datum := rapid.Bool().Draw(t, "datum")
		common := rapid.SampledFrom([]int{0, 1, 2, 5}).Draw(t, "common")
		slip := common == 5 && rapid.Bool().Draw(t, "slip")
		line := 0
		at := func(x, y, zero float64) surface.Point {
			line++
			// Within two deviations: of hundreds that are further off some differ by more
			// than chance is taken for.
			return surface.Point{X: x, Y: y, Z: sheet(x, y) + zero + noise*max(-2, min(2, r.NormFloat64())), Line: line}
		}
		first := []surface.Point{at(0, 0, 0)}
		for k := range 20 {
			first = append(first, at(20+40*float64(k%5), 20+40*float64(k/5), 0))
		}
		var second []surface.Point
		if datum {
			second = append(second, at(0, 0, zero))
		}
		for k := range 9 {
			second = append(second, at(40+40*float64(k%3), 40+40*float64(k/3), zero))
		}
		for k := range common {
			second = append(second, at(first[3*k+1].X+0.004, first[3*k+1].Y, zero))
		}
		if slip {
			second[len(second)-2].Z += 0.7
		}
		was := second[0].Z
		l := Level([][]surface.Point{first, second}, nil, noise, 0.001)
		z := l.Zeros[0]
		want := Same
		switch other := zero != 0; {
		case common == 0 && !datum:
			want = Apart
		case other && datum:
			want = ByDatum
		case other && common == 1:
			want = Unclear
		case other:
			want = ByPlaces
		}
		if z.Verdict != want || !datum && z.Common != common {
			t.Fatalf("verdict %d of %d, %d places", z.Verdict, want, z.Common)
		}
		if moved := was - second[0].Z; (want == ByDatum || want == ByPlaces) != (moved != 0) || moved != 0 && math.Abs(moved-zero) > 5*z.SureMM {
			t.Fatalf("moved by %g, known to %g", moved, z.SureMM)
		}
		disputes := 0
		if slip || want == Unclear {
			disputes = 1
		}
		if len(l.Disputed) != disputes {
			t.Fatalf("%d places are disputed", len(l.Disputed))
		}
		if len(z.Against) > 0 {
			t.Fatalf("%d places are said to be against the datum", len(z.Against))
		}
	})
}

// A touch of the datum that three places in common contradict is said to be.
func TestLevelAgainstDatum(t *testing.T) {
	round := func(line int, datum float64) []surface.Point {
		p := []surface.Point{{Z: datum, Line: line}}
		for k := range 3 {
			p = append(p, surface.Point{X: 10 * float64(k+1), Z: 0.5, Line: line + k + 1})
		}
		return p
	}
	z := Level([][]surface.Point{round(1, 0), round(5, 0.4)}, nil, 0.004, 0.001).Zeros[0]
	if z.Verdict != ByDatum || len(z.Against) != 3 || math.Abs(z.AgainstMM+0.4) > 1e-9 {
		t.Errorf("%+v", z)
	}
}

func part(t *testing.T, name, text string) Part {
	t.Helper()
	r, err := Read(strings.NewReader(text), name, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Part{Name: name, Reading: r}
}

// Lines of a joined reading tell the file and the line in it; a grid gives its nodes; one
// file is what it was.
func TestJoin(t *testing.T) {
	log := part(t, "a", "x,y,z\n0,0,0.1\n9,0,0.2\n\n0,9,0.3\n# the end\n")
	grid := part(t, "b", "# datum: 0,0\ny\\x, 0, 5\n0, 1, 2\n5, 3, 4\n")
	last := part(t, "c", "x,y,z\n3,3,0.5\n4,3,0.25\n3,4,0.75\n")
	r, err := Join([]Part{log, grid, last})
	if err != nil {
		t.Fatal(err)
	}
	if r.Grid != nil || len(r.Points) != 10 || r.Header.Datum == nil || r.ResolutionMM != 0.01 {
		t.Errorf("%d touches, datum %v, last decimal %g", len(r.Points), r.Header.Datum, r.ResolutionMM)
	}
	for k, want := range []struct {
		file string
		line int
	}{{"a", 2}, {"a", 3}, {"a", 5}, {"b", 3}, {"b", 3}, {"b", 4}, {"b", 4}, {"c", 2}, {"c", 3}, {"c", 4}} {
		if file, line := r.Where(r.Points[k].Line); file != want.file || line != want.line {
			t.Errorf("touch %d is said to be from %s:%d", k, file, line)
		}
	}
	if log.Points[0].Line != 2 || last.Points[0].Line != 2 {
		t.Error("the readings were changed")
	}
	if one, err := Join([]Part{log}); err != nil || one != log.Reading {
		t.Errorf("one file became %+v, %v", one, err)
	}
}

// Files that contradict one another are refused by name, and so are the same touches
// twice.
func TestJoinRefuses(t *testing.T) {
	const rows = "x,y,z\n0,0,0.1\n9,0,0.2\n0,9,0.3\n"
	for _, c := range []struct{ a, b, want string }{
		{rows, rows, "the same file as a, byte for byte"},
		{"# datum: 0,0\n" + rows, "# datum: 5,0\n" + rows, "datum is X5 Y0 here and X0 Y0 in a"},
		{"# wraps_y_mm: 60\n" + rows, "# wraps_y_mm: 61.5\n" + rows, "wraps_y_mm is 61.5 here and 60 in a"},
		{"# datum: 0,0\n" + rows, "# units: in\n# datum: 0,0\n" + rows, ""},
		{"# datum: 0,0\n" + rows, "#\nx,y,z\n0,0,0.1\n9,0,0.21\n0,9,0.3\n", ""},
		{"# datum: 0,0\n" + rows, "#\n" + rows, "all its touches are in a too"},
		{rows + "9,9,0.4\n", rows, "all its touches are in a too"},
	} {
		_, err := Join([]Part{part(t, "a", c.a), part(t, "b", c.b)})
		e := diag.As(err)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("refused: %v", err)
		case c.want != "" && (e == nil || e.Place.File != "b" || !strings.Contains(e.What, c.want)):
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}
