package zone_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/zone"
)

// walked is how long the steps are in which burns are walked, in mm.
const walked = 0.02

// burned are the heights of a program's burns, walked in small steps: of each step
// the two it lies between.
func burned(t *rapid.T, text string, opt zone.Options) (steps [][2]float64) {
	source := stream.New(strings.NewReader(text), stream.Options{Name: "job.gcode", Machine: opt.Machine})
	walk := func(m *machine.Move) {
		if !m.Burn {
			return
		}
		n := 1 + int(m.Length/walked)
		at := func(k int) float64 {
			p := m.XY(float64(k) / float64(n))
			h, _ := opt.Surface.At(p[0], p[1])
			return h
		}
		last := at(n)
		steps = append(steps, [2]float64{last, last})
		for k := range n {
			if m.Length > 0 {
				a, b := at(k), at(k+1)
				steps = append(steps, [2]float64{min(a, b), max(a, b)})
			}
		}
	}
	err := source.Each(func(it *stream.Item) error {
		if !it.IsRun() {
			walk(&it.Move)
		}
		var line stream.Item
		for k := range it.Lines() {
			it.LineItem(k, &line)
			walk(&line.Move)
		}
		source.Done(it)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return steps
}

// Where it is said that no fewer zones would do, the heights that show it are burned,
// and any two of them are further apart than one setting serves, as they are
// printed too. There are jobs for which fewer would do, as what is not certain costs
// a zone: of those it is not said.
func TestNoneFewerIsShown(t *testing.T) {
	drawn.Fewer(t, 40)
	jobs, said, unsaid, fewer := 0, 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		jobs++
		job, opt := drawJob(rt)
		// A width that goes a whole number of times into the heights, or nearly so.
		low, high, _, _ := opt.Surface.Range()
		opt.Lenses = opt.Lenses[:pick(rt, "lenses", 1, 1, len(opt.Lenses))]
		if len(opt.Lenses) == 1 && rapid.Bool().Draw(rt, "whole") {
			d := &opt.Lenses[0].Depth
			d.Near = max(0.05, (high-low)/float64(rapid.IntRange(1, 5).Draw(rt, "times"))-pick(rt, "less", 0.0, 1e-4, 1e-3, 0.01, -1e-3, -5e-3)) / 2
			d.Far = d.Near
		}
		p, err := zone.Survey(strings.NewReader(job.Text), opt)
		if err != nil {
			rt.Skip(err)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		if err := p.Split(strings.NewReader(job.Text), dir); err != nil {
			rt.Skip(err)
		}
		steps, off := burned(rt, job.Text, opt), 2e-3+opt.Surface.MaxSlope()*walked
		for k := range p.Lenses {
			l := &p.Lenses[k]
			width := opt.Lenses[slices.IndexFunc(opt.Lenses, func(o zone.Lens) bool { return o.Name == l.Name })].Width()
			if l.Zones < 2 {
				continue
			}
			if !l.IsFewest() {
				unsaid++
				if len(opt.Lenses) == 1 && least(steps, width) < l.Zones {
					fewer++
				}
				continue
			}
			said++
			for i, h := range l.Lows {
				if !slices.ContainsFunc(steps, func(s [2]float64) bool { return s[0]-off <= h && h <= s[1]+off }) {
					rt.Fatalf("the height %.4f is not burned\n%s", h, job.Text)
				}
				if i > 0 && math.Round(h*1e3)-math.Round(l.Lows[i-1]*1e3) <= math.Round(width*1e3) {
					rt.Fatalf("%.5f and %.5f are not further apart than %.5f", h, l.Lows[i-1], width)
				}
			}
			if len(opt.Lenses) == 1 && least(steps, width-off) < l.Zones {
				rt.Fatalf("fewer than %d would do for %v mm\n%s", l.Zones, width, job.Text)
			}
		}
	})
	t.Logf("said of %d, not of %d, for %d of which fewer would do", said, unsaid, fewer)
	if jobs >= 30 && said < 5 {
		t.Errorf("said of %d jobs alone", said)
	}
}

// least is how many windows of a width the steps need at least: of each its upper end
// must be served.
func least(steps [][2]float64, width float64) (n int) {
	var at []float64
	for _, s := range steps {
		at = append(at, s[0], s[1])
	}
	slices.Sort(at)
	end := math.Inf(-1)
	for _, h := range at {
		if h > end {
			n, end = n+1, h+width
		}
	}
	return n
}

// rise is how steeply a plane rises along x.
const rise = 0.125

// change counts changes of zone within burns and within figures, in this order.
type change struct{ cuts, joints int }

func (c change) worth() int { return 1000*c.cuts + c.joints }

// leastCuts finds the least changes for strokes along x over stock of the slope rise,
// figure by figure, for zones that serve these heights, by dynamic programming over
// all places where a stroke comes to an end of a zone.
func leastCuts(figures [][]float64, zones [][2]float64, wider float64) int {
	var ends []float64
	for i := range zones {
		ends = append(ends, zones[i][0]-wider, zones[i][1]+wider)
	}
	slices.Sort(ends)
	all := 0
	for _, xs := range figures {
		cost := make([]int, len(zones))
		for i := range xs[1:] {
			h0, h1 := xs[i]*rise, xs[i+1]*rise
			at := []float64{h0}
			for _, e := range ends {
				if e > min(h0, h1) && e < max(h0, h1) {
					at = append(at, e)
				}
			}
			at = append(at, h1)
			slices.Sort(at)
			if h1 < h0 {
				slices.Reverse(at)
			}
			for k := range at[1:] {
				c := change{cuts: 1}
				if k == 0 {
					c = change{joints: 1}
				}
				next := make([]int, len(zones))
				for z := range zones {
					next[z] = 1 << 40
					mid := (at[k] + at[k+1]) / 2
					if mid < zones[z][0]-wider || mid > zones[z][1]+wider {
						continue
					}
					for y := range zones {
						if y == z || i == 0 && k == 0 {
							next[z] = min(next[z], cost[y])
						} else {
							next[z] = min(next[z], cost[y]+c.worth())
						}
					}
				}
				cost = next
			}
		}
		all += slices.Min(cost)
	}
	return all
}

// As few burns are cut, and figures change zones as rarely, as can be with the zones
// there are.
func TestCutsAreLeast(t *testing.T) {
	cut := 0
	rapid.Check(t, func(rt *rapid.T) {
		var figures [][]float64
		text := "G21 G90\nM5\nF2000\n"
		for k := range rapid.IntRange(1, 6).Draw(rt, "figures") {
			var xs []float64
			for range rapid.IntRange(2, 6).Draw(rt, "corners") {
				xs = append(xs, float64(rapid.IntRange(0, 600).Draw(rt, "x"))/10)
			}
			if slices.Max(xs)-slices.Min(xs) < 1 {
				continue
			}
			figures = append(figures, xs)
			text += fmt.Sprintf("G0 X%g Y%d\nM3 S500\n", xs[0], 5*k)
			for i, x := range xs[1:] {
				text += fmt.Sprintf("G1 X%g Y%g\n", x, float64(5*k)+0.5*float64(i+1))
			}
			text += "M5\n"
		}
		text += "M2\n"
		if figures == nil {
			rt.Skip()
		}
		opt := zone.Options{
			Options: rewrite.Options{Name: "job.gcode", Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true},
			Surface: surfacetest.Of(t, "", []float64{0, 30, 60}, []float64{0, 60}, func(x, y float64) float64 { return rise * x }),
			Lenses:  []zone.Lens{{Name: "short", Depth: focus.Depth{Near: pick(rt, "near", 0.3, 0.7, 1.1), Far: 0.5}}},
		}
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		if err := p.Split(strings.NewReader(text), dir); err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		var zones [][2]float64
		for _, z := range p.Zones {
			zones = append(zones, [2]float64{z.Band.Lo, z.Band.Hi})
		}
		got := change{p.Cuts, p.JointChanges}
		// What is not certain of heights and of places that are rounded may ask for more.
		const off = 2e-3
		if least, most := leastCuts(figures, zones, off), leastCuts(figures, zones, -off); got.worth() < least || got.worth() > most {
			rt.Fatalf("%+v, the least are worth %d to %d\n%s", got, least, most, text)
		}
		cut += min(got.cuts, 1)
	})
	if cut < 10 {
		t.Errorf("only %d drawn jobs were cut", cut)
	}
}
