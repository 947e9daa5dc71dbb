package cover

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// window is a case of testdata/windows.csv: heights along a path, to be given
// windows of a width. Its head names the source: SciPy 1.10.1 milp (HiGHS),
// each case also confirmed by enumeration or by the greedy rule.
type window struct {
	name                string
	heights             []float64 // mm
	width               float64
	fewest, cuts, least int // least changes with any number of windows
}

func windows(t *testing.T) (list []window) {
	t.Helper()
	f, err := os.Open("testdata/windows.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, row := range rows[1:] {
		w := window{name: row[0], width: float64(number(row[2])) / 100, fewest: number(row[3]), cuts: number(row[4]), least: number(row[5])}
		for _, h := range strings.Fields(row[1]) {
			w.heights = append(w.heights, float64(number(h))/100)
		}
		list = append(list, w)
	}
	if len(list) != 6 {
		t.Fatalf("%d cases", len(list))
	}
	return list
}

// changes counts the changes of the path through heights with these settings,
// and reports false where they do not serve them all.
func changes(t tester, heights []float64, s Bands) (n int, ok bool) {
	var p Path
	for _, h := range heights {
		first, k := s.Serving(Span{h, h})
		if k == 0 {
			return 0, false
		}
		p.Burn(first, k, Meeting{})
	}
	parts := p.Settle()
	if len(parts) != len(heights) {
		t.Fatalf("%d parts of %d burns", len(parts), len(heights))
	}
	for i, q := range parts {
		if b := s[q.Setting]; heights[i] < b.Lo || heights[i] > b.Hi {
			t.Fatalf("height %g is given %v", heights[i], b)
		}
		if i > 0 && q.Setting != parts[i-1].Setting {
			n++
		}
	}
	return n, true
}

// tester is a test or a drawn one.
type tester interface {
	Fatalf(format string, args ...any)
}

// starting gives the windows that begin at heights. A window can always be
// slid up until it begins at its lowest height, so no others need trying.
func starting(at []float64, width float64) (s Bands) {
	for _, v := range at {
		s = append(s, Span{v, v + width})
	}
	return s
}

// Windows are as few as can be, and changes between them as few as can be with
// that many windows and with any number; also where heights lie on the ends of
// windows but for rounding.
func TestWindows(t *testing.T) {
	for _, w := range windows(t) {
		t.Run(w.name, func(t *testing.T) {
			for _, by := range []float64{0, 1e-12} {
				by := by
				rapid.Check(t, func(t *rapid.T) {
					heights := slices.Clone(w.heights)
					for i := range heights {
						heights[i] += by * float64(rapid.IntRange(-1, 1).Draw(t, "off"))
					}
					w.check(t, heights, w.width+1e-9)
				})
			}
		})
	}
}

// Windows that are placed where most heights fit one, as those of a job are, change as
// rarely as can be with that many.
func TestPlacedWindows(t *testing.T) {
	for _, w := range windows(t) {
		var set Heights
		width := w.width + 1e-9
		whole := NewWhole(width)
		for _, h := range w.heights {
			set.Add(Span{h, h})
			whole.Count(Span{h, h}, 1)
		}
		lows := whole.Place(set.Spans(), width, Fewest(set.Spans(), width))
		if n, served := changes(t, w.heights, starting(lows, width)); len(lows) != w.fewest || n != w.cuts || !served {
			t.Errorf("%s: %d changes of %v, want %d of %d", w.name, n, lows, w.cuts, w.fewest)
		}
	}
}

func (w *window) check(t tester, heights []float64, width float64) {
	var set Heights
	for _, h := range heights {
		set.Add(Span{h, h})
	}
	if got := Fewest(set.Spans(), width); len(got) != w.fewest {
		t.Fatalf("%d windows, want %d", len(got), w.fewest)
	}
	at := slices.Clone(heights)
	slices.Sort(at)
	at = slices.CompactFunc(at, func(a, b float64) bool { return math.Abs(b-a) < 1e-6 })
	if got, _ := changes(t, heights, starting(at, width)); got != w.least {
		t.Fatalf("%d changes with any number of windows, want %d", got, w.least)
	}
	least := len(heights)
	chosen := make([]float64, 0, w.fewest)
	var choose func(from int)
	choose = func(from int) {
		if len(chosen) == w.fewest {
			if n, ok := changes(t, heights, starting(chosen, width)); ok {
				least = min(least, n)
			}
			return
		}
		for i := from; i < len(at); i++ {
			chosen = append(chosen, at[i])
			choose(i + 1)
			chosen = chosen[:len(chosen)-1]
		}
	}
	choose(0)
	if least != w.cuts {
		t.Fatalf("%d changes with %d windows, want %d", least, w.fewest, w.cuts)
	}
}
