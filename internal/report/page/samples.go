package page

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/report/trace"
)

const (
	// mostSamples is how many places along the path the read-out has at most, beside
	// the ends of stretches.
	mostSamples = 6000
	// straightWithin is by how much a burn may be longer than the way between its ends
	// and count as straight: what is rounded in its ends.
	straightWithin = 1e-3
	// sameTime is the part of a stretch below which two places are one.
	sameTime = 1e-5
)

// sample is a place along the path at which the height is read.
type sample struct {
	stretch int
	// part is how much of the stretch, in time, lies before it.
	part float64
	at   orb.Point
	// height is NaN where there is none.
	height float64
}

// samples are places along the path in its order: the ends of each stretch, the worst
// places, and where a stretch is straight, places in it, the more the longer it is.
func (p *Page) samples() (list []sample) {
	t := p.Trace
	length := 0.0
	for i := range t.Stretches {
		if s := &t.Stretches[i]; straight(s) {
			length += apart(s.From, s.To)
		}
	}
	for i := range t.Stretches {
		s := &t.Stretches[i]
		n := 1
		if straight(s) && length > 0 {
			n = max(1, int(mostSamples*apart(s.From, s.To)/length))
		}
		add := func(part float64, at orb.Point) {
			// A place is read off to the micrometre: the height is that of the place that is
			// said.
			for axis := range at {
				at[axis] = math.Round(at[axis]*1e3) / 1e3
			}
			h, there := 0.0, false
			if p.Height != nil && !math.IsNaN(at[0]+at[1]) {
				h, there = p.Height(at[0], at[1])
			}
			if !there {
				h = math.NaN()
			}
			list = append(list, sample{i, part, at, h})
		}
		worst := p.worstIn(s)
		for k := 0; k <= n; k++ {
			part := float64(k) / float64(n)
			at := orb.Point{s.From[0] + part*(s.To[0]-s.From[0]), s.From[1] + part*(s.To[1]-s.From[1])}
			for ; len(worst) > 0 && worst[0].part < part+sameTime; worst = worst[1:] {
				if worst[0].part < part-sameTime {
					add(worst[0].part, worst[0].at)
				} else if 0 < k && k < n {
					part, at = worst[0].part, worst[0].at // rather than a place that cannot be told from it
				}
			}
			switch {
			case k == 0 && i > 0 && s.Program == t.Stretches[i-1].Program && s.From == t.Stretches[i-1].To:
				continue // it is there already
			case k == n:
				at = s.To
			}
			add(part, at)
		}
	}
	return list
}

// worstIn are the worst places within a stretch, in order; none at its ends.
func (p *Page) worstIn(s *trace.Stretch) (list []sample) {
	for _, w := range p.Trace.Worst {
		part := (w.Seconds - s.At) / (s.Until - s.At)
		if w.Program == s.Program && part > 0 && part < 1 {
			list = append(list, sample{part: part, at: w.At})
		}
	}
	slices.SortFunc(list, func(a, b sample) int { return cmp.Compare(a.part, b.part) })
	return slices.CompactFunc(list, func(a, b sample) bool { return b.part-a.part < sameTime })
}

// straight reports whether the path goes straight between the ends of a stretch.
func straight(s *trace.Stretch) bool {
	way := apart(s.From, s.To)
	if s.Line != s.LastLine || !(way > 0) || math.IsInf(way, 0) {
		return false
	}
	return !s.Burns || !s.Travels && math.Abs(s.BurnMM-way) <= straightWithin*way+straightWithin
}

func apart(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

// risings says of each stretch whether c goes from its least to its greatest, so that
// it goes on from one stretch to the next with as little of a leap as can be: a shortest
// way through two states.
func risings(list []trace.Stretch) []bool {
	up := make([]bool, len(list))
	if len(list) == 0 {
		return up
	}
	ends := func(s *trace.Stretch, rises bool) (from, to float64) {
		if rises {
			return s.C.Lo, s.C.Hi
		}
		return s.C.Hi, s.C.Lo
	}
	came := make([][2]bool, len(list)) // what is before, where it is neither and where it rises
	var leaps [2]float64
	for i := 1; i < len(list); i++ {
		var next [2]float64
		for k, rises := range [2]bool{false, true} {
			from, _ := ends(&list[i], rises)
			next[k] = math.Inf(1)
			for b, before := range [2]bool{false, true} {
				_, to := ends(&list[i-1], before)
				if leap := leaps[b] + math.Abs(from-to); leap < next[k] {
					next[k], came[i][k] = leap, before
				}
			}
		}
		leaps = next
	}
	rises := leaps[1] < leaps[0]
	for i := len(list) - 1; i >= 0; i-- {
		up[i] = rises
		if rises {
			rises = came[i][1]
		} else {
			rises = came[i][0]
		}
	}
	return up
}
