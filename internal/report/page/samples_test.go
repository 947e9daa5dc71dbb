package page

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/report/trace"
)

// Of a c that goes on from stretch to stretch it is found again which way it goes in
// each: wherever that makes a difference, it goes on.
func TestRisings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SliceOfN(rapid.Float64Range(-3, 3), 2, 30).Draw(t, "c")
		var list []trace.Stretch
		for i := 1; i < len(c); i++ {
			list = append(list, trace.Stretch{C: trace.Range{Lo: min(c[i-1], c[i]), Hi: max(c[i-1], c[i])}})
		}
		up, leaps := risings(list), 0.0
		last := math.NaN()
		for i, rises := range up {
			from, to := list[i].C.Lo, list[i].C.Hi
			if !rises {
				from, to = to, from
			}
			if i > 0 {
				leaps += math.Abs(from - last)
			}
			last = to
		}
		if leaps > 1e-12 {
			t.Fatalf("%v: %v leaps by %g", c, up, leaps)
		}
	})
}

// Places that are read off lie on the path, in its order, and their heights are those of
// the places as they are said; of a bent stretch its ends alone are.
func TestSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		height := func(x, y float64) (float64, bool) { return x*y + x, x < 50 }
		p := &Page{Trace: &trace.Trace{}, Height: height}
		at := orb.Point{}
		straights := map[int]bool{}
		for i := range rapid.IntRange(1, 20).Draw(t, "stretches") {
			to := orb.Point{rapid.Float64Range(-80, 80).Draw(t, "x"), rapid.Float64Range(-80, 80).Draw(t, "y")}
			s := trace.Stretch{Line: i + 1, LastLine: i + 1, From: at, To: to, Burns: rapid.Bool().Draw(t, "burns")}
			s.BurnMM, straights[i] = apart(at, to), true
			if s.Burns && rapid.Bool().Draw(t, "bent") {
				s.BurnMM, straights[i] = 1.1*s.BurnMM+1, false
			}
			s.At, s.Until = float64(i), float64(i+1)
			if straights[i] && rapid.Bool().Draw(t, "worst") {
				part := rapid.Float64Range(0.01, 0.99).Draw(t, "part")
				w := trace.Place{At: orb.Point{at[0] + part*(to[0]-at[0]), at[1] + part*(to[1]-at[1])}, Seconds: s.At + part}
				p.Trace.Worst = append(p.Trace.Worst, w)
			}
			p.Trace.Stretches = append(p.Trace.Stretches, s)
			at = to
		}
		list := p.samples()
		for _, w := range p.Trace.Worst {
			if !slices.ContainsFunc(list, func(s sample) bool { return apart(s.at, w.At) < 1e-3 }) {
				t.Fatalf("%v is not read off", w.At)
			}
		}
		if len(list) > mostSamples+3*len(p.Trace.Stretches) {
			t.Fatalf("%d places", len(list))
		}
		place := func(s sample) float64 { return float64(s.stretch) + s.part }
		for k, s := range list {
			if k > 0 && place(s) <= place(list[k-1]) {
				t.Fatalf("place %d: %v after %v", k, s, list[k-1])
			}
			x := p.Trace.Stretches[s.stretch]
			if !straights[s.stretch] && s.part > 0 && s.part < 1 {
				t.Fatalf("a place within a bent stretch: %v", s)
			}
			want := orb.Point{x.From[0] + s.part*(x.To[0]-x.From[0]), x.From[1] + s.part*(x.To[1]-x.From[1])}
			if apart(want, s.at) > 1e-3 {
				t.Fatalf("%v is not at %v", s, want)
			}
			if h, there := height(s.at[0], s.at[1]); there && h != s.height || !there && !math.IsNaN(s.height) {
				t.Fatalf("height %g at %v", s.height, s.at)
			}
		}
	})
}

// What stretches ask for is in the data of the path where it is not what their program does.
func TestPathDataByRules(t *testing.T) {
	j := &trace.Trace{Programs: []trace.Program{{Near: 1, Far: 2}}, Stretches: []trace.Stretch{{Burns: true, Near: 1, Far: 2}, {Burns: true, Near: 1, Far: 2}}}
	text, err := (&Page{Trace: j}).pathData()
	if err != nil || strings.Contains(string(text), `"wanted"`) {
		t.Errorf("%v: %s", err, text)
	}
	j.Stretches[1].Near, j.Stretches[1].WantedMM = 0.5, -1.5
	text, err = (&Page{Trace: j}).pathData()
	for _, want := range []string{`"near":[1,0.5]`, `"far":[2,2]`, `"wanted":[0,-1.5]`} {
		if err != nil || !strings.Contains(string(text), want) {
			t.Errorf("%v: no %s in %s", err, want, text)
		}
	}
}
