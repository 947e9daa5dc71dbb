package cover

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// Stretches follow each other to the burn's end, are served by just the
// settings they name, and are halved where the path may choose.
func TestDivide(t *testing.T) {
	var d Divider
	rapid.Check(t, func(t *rapid.T) {
		width := float64(rapid.IntRange(4, 16).Draw(t, "width")) / 8
		var settings Bands
		for low := -1.0; low < 3; low += float64(rapid.IntRange(2, 8).Draw(t, "pitch")) / 8 {
			if n := len(settings); n == 0 || low <= settings[n-1].Hi-0.25 {
				settings = append(settings, Span{low, low + width})
			}
		}
		// Heights on the ends of settings, exactly and within rounding, and
		// between.
		end := settings[len(settings)-1].Hi
		unsure := rapid.SampledFrom([]float64{0, 0, 1e-12, 0.05}).Draw(t, "unsure")
		height := func() float64 {
			v := float64(rapid.IntRange(-8, 24).Draw(t, "height"))/8 + rapid.SampledFrom([]float64{0, 0, 1e-12, -1e-12, 0.01, -0.03}).Draw(t, "beside")
			return min(max(v, -1+unsure), end-unsure)
		}
		n := rapid.IntRange(1, 5).Draw(t, "pieces")
		var pieces []surface.Piece
		h := height()
		for k := range n {
			pc := surface.Piece{S0: float64(k) / float64(n), S1: float64(k+1) / float64(n), H0: h, H1: height(), Up: unsure, Down: unsure}
			h = pc.H1
			pieces = append(pieces, pc)
		}
		const margin = 0.001
		list := d.Divide(pieces, settings, margin)
		begin := 0.0
		for i, st := range list {
			if st.End < begin || st.Miss > rounding { // neighbours share more than is unsure
				t.Fatalf("%+v", list)
			}
			if i > 0 && st.middle != (list[i-1].First == st.First && list[i-1].N == st.N && st.N > 1) {
				t.Fatalf("stretch %d of %+v", i, list)
			}
			if st.middle && (begin < margin || begin > 1-margin) && st.End-begin > margin {
				t.Fatalf("a cut may be at %g: %+v", begin, list)
			}
			for k := range pieces {
				pc := &pieces[k]
				s0, s1 := max(begin, pc.S0), min(st.End, pc.S1)
				if s1 <= s0+1e-9 {
					continue
				}
				at := func(s float64) float64 { return pc.H0 + (pc.H1-pc.H0)*(s-pc.S0)/(pc.S1-pc.S0) }
				seen := Span{min(at(s0), at(s1)) - unsure, max(at(s0), at(s1)) + unsure}
				for z := range settings {
					out := max(settings[z].Lo-seen.Lo, seen.Hi-settings[z].Hi)
					if named := z >= st.First && z < st.First+st.N; named && out > 3*rounding {
						t.Fatalf("setting %d misses %v by %g: %+v", z, seen, out, st)
					}
				}
			}
			begin = st.End
		}
		if begin != 1 {
			t.Fatalf("%+v", list)
		}
	})
}

// A slope up through two settings is cut within what both serve, and what none
// serves is told with the least that misses it.
func TestDivideTable(t *testing.T) {
	slope := func(h0, h1, unsure float64) []surface.Piece {
		return []surface.Piece{{S0: 0, S1: 1, H0: h0, H1: h1, Up: unsure, Down: unsure}}
	}
	two := Bands{{0, 1}, {0.8, 1.8}}
	var d Divider
	for _, c := range []struct {
		pieces []surface.Piece
		want   []Stretch
	}{
		{slope(0, 1.6, 0), []Stretch{{0.5, 0, 1, 0, false}, {0.5625, 0, 2, 0, false}, {0.625, 0, 2, 0, true}, {1, 1, 1, 0, false}}},
		{slope(1.6, 0, 0), []Stretch{{0.375, 1, 1, 0, false}, {0.4375, 0, 2, 0, false}, {0.5, 0, 2, 0, true}, {1, 0, 1, 0, false}}},
		{slope(0, 1, 0), []Stretch{{0.8, 0, 1, 0, false}, {0.9, 0, 2, 0, false}, {1, 0, 2, 0, true}}},
		{slope(0.8, 1, 0), []Stretch{{0.5, 0, 2, 0, false}, {1, 0, 2, 0, true}}},
		{slope(0.2, 0.2, 0), []Stretch{{1, 0, 1, 0, false}}},
		// Less than what is not certain of the heights is shared.
		{slope(0.9, 0.9, 0.2), []Stretch{{1, 0, 1, 0.1, false}}},
		{slope(2, 2, 0), []Stretch{{1, 1, 1, 0.2, false}}},
	} {
		got := d.Divide(c.pieces, two, 0)
		same := len(got) == len(c.want)
		for i := 0; same && i < len(got); i++ {
			g, w := got[i], c.want[i]
			same = math.Abs(g.End-w.End) < 1e-9 && g.First == w.First && g.N == w.N && math.Abs(g.Miss-w.Miss) < 1e-6 && g.middle == w.middle
		}
		if !same {
			t.Errorf("%+v: %+v, want %+v", c.pieces[0], got, c.want)
		}
	}
}

// Serving and nearest agree with a look at each setting.
func TestSettings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Bands
		low := 0.0
		width := float64(rapid.IntRange(1, 16).Draw(t, "width"))
		for range rapid.IntRange(1, 6).Draw(t, "settings") {
			s = append(s, Span{low, low + width})
			low += float64(rapid.IntRange(1, 12).Draw(t, "pitch"))
		}
		lo := float64(rapid.IntRange(-2, 60).Draw(t, "lo"))
		h := Span{lo, lo + float64(rapid.IntRange(0, 8).Draw(t, "size"))}
		first, n := s.Serving(h)
		least, serve := math.Inf(1), 0
		for i, b := range s {
			serves := b.Lo <= h.Lo && h.Hi <= b.Hi
			if serves != (i >= first && i < first+n) {
				t.Fatalf("%v of %v: %d from %d on", h, s, n, first)
			}
			if serves {
				serve++
			}
			least = min(least, max(b.Lo-h.Lo, h.Hi-b.Hi))
		}
		if i, miss := s.nearest(h); serve == 0 && (miss != least || max(s[i].Lo-h.Lo, h.Hi-s[i].Hi) != least) {
			t.Fatalf("%v misses %v by %g", s[i], h, miss)
		}
	})
}

// Shared agrees with a look at each setting.
func TestShared(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Bands
		low := 0.0
		for range rapid.IntRange(1, 6).Draw(t, "settings") {
			s = append(s, Span{low, low + 8})
			low += float64(rapid.IntRange(1, 12).Draw(t, "pitch"))
		}
		lo := float64(rapid.IntRange(-9, 60).Draw(t, "lo"))
		h := Span{lo, lo + float64(rapid.IntRange(0, 8).Draw(t, "size"))}
		n := 0
		for _, b := range s {
			if b.Lo <= h.Hi && b.Hi >= h.Lo {
				n++
			}
		}
		if got := s.Shared(h); got != (n > 1) {
			t.Fatalf("%v of %v: %v", h, s, got)
		}
	})
}
