package zone

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawSpans draws spans of heights whose ends are whole eighths.
func drawSpans(t *rapid.T) []Span {
	var h heightSet
	for range rapid.IntRange(1, 9).Draw(t, "spans") {
		lo := float64(rapid.IntRange(-20, 60).Draw(t, "lo")) / 8
		h.add(Span{lo, lo + float64(rapid.IntRange(0, 12).Draw(t, "size"))/8})
	}
	return h.settle()
}

// fewest tries all covers by intervals that begin at sixteenths: with ends of
// spans and widths at eighths, none other is smaller.
func fewest(spans []Span, width float64) int {
	var heights []int // in thirty-seconds: the ends and what lies between
	for _, s := range spans {
		for v := int(s.Lo * 32); v <= int(s.Hi*32); v++ {
			heights = append(heights, v)
		}
	}
	wide := int(width * 32)
	best := map[int]int{} // by the heights covered, from below
	var least func(from int) int
	least = func(from int) int {
		if from == len(heights) {
			return 0
		}
		if n, ok := best[from]; ok {
			return n
		}
		n := len(heights)
		for low := heights[from] - wide; low <= heights[from]; low++ {
			if low%2 != 0 {
				continue
			}
			k := from
			for k < len(heights) && heights[k] <= low+wide {
				k++
			}
			if k > from {
				n = min(n, 1+least(k))
			}
		}
		best[from] = n
		return n
	}
	return least(0)
}

func TestCoverIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans, width := drawSpans(t), float64(rapid.IntRange(1, 20).Draw(t, "width"))/8
		got := Cover(spans, width, 1000)
		if want := fewest(spans, width); len(got) != want {
			t.Fatalf("%d intervals of %g for %v, want %d", len(got), width, spans, want)
		}
		if n := CoverCount(spans, width); n != float64(len(got)) {
			t.Fatalf("counted %g, made %d", n, len(got))
		}
		if !covers(got, spans, width) {
			t.Fatalf("%v does not cover %v", got, spans)
		}
		below := coverFromAbove(spans, width, 1000)
		if len(below) != len(got) || !covers(below, spans, width) {
			t.Fatalf("from above %v, from below %v", below, got)
		}
		for i := range got {
			if below[i] > got[i] {
				t.Fatalf("interval %d begins at %g to %g", i, below[i], got[i])
			}
			if i > 0 && got[i]-got[i-1] < width {
				t.Fatalf("the witnesses %v are nearer than %g", got, width)
			}
		}
	})
}

// covers must not be easily pleased: it is what the other tests lean on.
func TestCoversSeesGaps(t *testing.T) {
	spans := []Span{{0, 2}, {5, 5}, {7, 8}}
	for _, c := range []struct {
		lows []float64
		want bool
	}{
		{[]float64{0, 5, 7}, true}, {[]float64{0, 6}, false}, {[]float64{-1, 1, 4, 6.5}, true}, {[]float64{0.1, 5, 7}, false},
		{[]float64{0, 3, 7}, true}, {[]float64{0, 5.1, 7}, false}, {[]float64{0, 5, 7.1}, false}, {nil, false}, {[]float64{-1, 1.1, 5, 7}, false},
	} {
		if got := covers(c.lows, spans, 2); got != c.want {
			t.Errorf("%v: %v", c.lows, got)
		}
	}
}

// A set of many separate heights stays small, and loses none.
func TestHeightSetKeepsAll(t *testing.T) {
	var h heightSet
	var want []float64
	for i := range 3 * mostSpans {
		v := float64(i*7919%(3*mostSpans)) * 0.001
		want = append(want, v)
		h.add(Span{v, v})
	}
	spans := h.settle()
	if len(spans) > mostSpans {
		t.Errorf("%d spans", len(spans))
	}
	for _, v := range want {
		if got, ok := seen(spans, Span{v, v}); !ok || got.Lo != v {
			t.Fatalf("%g is lost", v)
		}
	}
	if spans[0].Lo != 0 || spans[len(spans)-1].Hi != slices.Max(want) {
		t.Errorf("from %g to %g", spans[0].Lo, spans[len(spans)-1].Hi)
	}
}

// The search for where burns fit whole finds the best of all covers whose
// intervals begin at borders of bins.
func TestPlaceKeepsMostBurnsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Bins of 1; a width of 8 of them, as if of 64.
		s := spread{bin: 1, rows: map[int32]*[binsPerWidth]uint32{}}
		const width = 8
		type burn struct{ lo, hi int32 }
		var burns []burn
		var h heightSet
		for range rapid.IntRange(1, 7).Draw(t, "burns") {
			lo := int32(rapid.IntRange(0, 24).Draw(t, "lo"))
			b := burn{lo, lo + int32(rapid.IntRange(1, 10).Draw(t, "size"))}
			burns = append(burns, b)
			from, to := s.bins(float64(b.lo), float64(b.hi))
			s.add(from, to, 1)
			h.add(Span{float64(b.lo), float64(b.hi)})
		}
		spans := h.settle()
		highest := Cover(spans, width, 100)
		fit := func(lows []float64) (n int) {
			for _, b := range burns {
				if slices.ContainsFunc(lows, func(v float64) bool {
					return v <= float64(b.lo)+1e-9 && float64(b.hi) <= v+width+1e-9
				}) {
					n++
				}
			}
			return n
		}
		got := s.place(spans, width, highest)
		if len(got) != len(highest) || !covers(got, spans, width+1e-6) {
			t.Fatalf("%v for %v", got, spans)
		}
		best := 0
		lows := make([]float64, len(highest))
		var try func(k int)
		try = func(k int) {
			if k == len(lows) {
				if covers(lows, spans, width) {
					best = max(best, fit(lows))
				}
				return
			}
			for v := math.Floor(highest[k]) - width; v <= highest[k]; v++ {
				if k == 0 || v > lows[k-1] {
					lows[k] = v
					try(k + 1)
				}
			}
		}
		if len(highest) <= 4 {
			try(0)
			if n := fit(got); n < best {
				t.Fatalf("%v keeps %d of %v whole, %d could be", got, n, burns, best)
			}
		}
	})
}

// The path has the least cost of all ways through the zones that serve each
// step: few cuts first, then few changes in runs, then few on travels.
func TestPathIsCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "steps")
		items := make([]item, n)
		steps := make([]step, n)
		change := make([]int64, n)
		for i := range steps {
			items[i].part = -1
			steps[i] = step{item: &items[i], z: int32(rapid.IntRange(0, 3).Draw(t, "zone")), n: uint8(rapid.SampledFrom([]int{1, 2, 2, 3}).Draw(t, "n"))}
			change[i] = rapid.SampledFrom([]int64{costTravel, costJoint, costCut}).Draw(t, "change")
		}
		start := int32(rapid.IntRange(-1, 4).Draw(t, "start"))
		cost := func(z []int32) (c int64) {
			prev := start
			for i := range z {
				if prev >= 0 && z[i] != prev {
					c += change[i]
				}
				prev = z[i]
			}
			return c
		}
		best := int64(math.MaxInt64)
		z := make([]int32, n)
		var try func(i int)
		try = func(i int) {
			if i == n {
				best = min(best, cost(z))
				return
			}
			for k := range int32(steps[i].n) {
				z[i] = steps[i].z + k
				try(i + 1)
			}
		}
		try(0)
		p := path{prev: start}
		for i := range steps {
			p.add(steps[i], change[i])
			if steps[i].n == 1 {
				p.settle() // as the splitter does, without loss
			}
		}
		p.settle()
		for i := range items {
			z[i] = items[i].zone
			if k := z[i] - steps[i].z; k < 0 || k >= int32(steps[i].n) {
				t.Fatalf("step %d is given zone %d of %d+%d", i, z[i], steps[i].z, steps[i].n)
			}
		}
		if got := cost(z); got != best {
			t.Fatalf("%v costs %d, the least is %d", z, got, best)
		}
	})
}

// A figure gets the finest lens that is deep enough, else the deepest.
func TestLensFor(t *testing.T) {
	depth := func(v float64) Lens { var l Lens; l.Depth.Near, l.Depth.Far = v/2, v/2; return l }
	lenses := []Lens{depth(1), depth(4), depth(2)}
	for _, c := range []struct {
		high float64
		want int
	}{{0, 0}, {0.9, 0}, {0.995, 1}, {1.5, 1}, {3.9, 1}, {9, 1}} {
		if got := lensFor(lenses, Span{0, c.high}); got != c.want {
			t.Errorf("%g mm: lens %d, want %d", c.high, got, c.want)
		}
	}
}

func TestChooseLenses(t *testing.T) {
	lens := func(name string, depth, detail float64) Lens {
		l := Lens{Name: name, DetailMM: detail}
		l.Depth.Near, l.Depth.Far = depth, depth
		return l
	}
	short, middle, long := lens("short", 1.5, 0.5), lens("middle", 2, 0), lens("long", 3, 0.8)
	for _, c := range []struct {
		detail float64
		want   []string
	}{{0, []string{"short", "middle", "long"}}, {0.8, []string{"short", "middle", "long"}}, {0.6, []string{"short", "middle"}}, {0.4, []string{"middle"}}} {
		got, err := choose(&Options{Lenses: []Lens{long, middle, short}, DetailMM: c.detail})
		var names []string
		for _, l := range got {
			names = append(names, l.Name)
		}
		if err != nil || !slices.Equal(names, c.want) {
			t.Errorf("detail %g: %v, %v", c.detail, names, err)
		}
	}
	_, err := choose(&Options{Name: "job.gcode", Lenses: []Lens{long, short}, DetailMM: 0.3})
	const want = "job.gcode: no lens marks a detail of 0.3 mm: long marks 0.8 mm, short marks 0.5 mm"
	if err == nil || err.Error() != want {
		t.Errorf("%v", err)
	}
}

// A drawn arc is as long as it is, to a millionth, and near where it is.
func TestArcsAreDrawnAtTheirLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := arcMove(rapid.Float64Range(0.05, 100).Draw(t, "r"), rapid.Float64Range(-2*math.Pi, 2*math.Pi).Draw(t, "sweep"))
		s0 := rapid.Float64Range(0, 0.9).Draw(t, "s0")
		s1 := rapid.Float64Range(s0+0.05, 1).Draw(t, "s1")
		d := track{geo: &appender{size: 1 << 30}, keep: &sketch{}}
		d.arc(&m, s0, s1)
		d.end()
		want := m.Length * (s1 - s0)
		if math.Abs(d.length-want) > 1e-7*want+1e-9 {
			t.Fatalf("drawn %g, is %g", d.length, want)
		}
		for _, p := range d.keep.lines[0] {
			if off := math.Abs(math.Hypot(p[0]-m.CX, p[1]-m.CY) - m.R0); off > 0.0003*m.R0 {
				t.Fatalf("%v is %g off an arc of radius %g", p, off, m.R0)
			}
		}
	})
}
