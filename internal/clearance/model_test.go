package clearance_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

const (
	side = 40.0
	// rounded in mm is more than the bounds may be below what At gives.
	rounded = 1e-5
)

// site is a head over a drawn surface, and what stands there.
type site struct {
	on    *surface.Placed
	head  bench.Head
	slack clearance.Slack
	model *clearance.Model
}

func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

func drawBench(t *rapid.T) *site {
	on := surfacetest.Draw(t, side, []float64{2, 7, 19}, []float64{0, 0.5, 2}).Placed(t)
	if pick(t, "round", false, false, true) {
		on = surfacetest.Round(t, side)
	}
	b := &site{
		on: on,
		head: bench.Head{
			Radius: pick(t, "radius", 0, 0.2, 3, 11), Standoff: pick(t, "standoff", 0, 1.5, 4), Gap: pick(t, "gap", 0, 1.0),
		},
		slack: clearance.Slack{Lateral: pick(t, "lateral", 0, 0.1), Height: pick(t, "height", 0, 0.02), Tolerance: 0.01},
	}
	for range rapid.IntRange(0, 2).Draw(t, "wider disks") {
		top := slices.Max(append([]float64{0}, ups(b.head.Above)...))
		b.head.Above = append(b.head.Above, bench.Disk{
			Radius: b.head.Radius + 4*float64(1+len(b.head.Above)), Up: top + pick(t, "up", 0.1, 1, 3)})
	}
	for range rapid.IntRange(0, 3).Draw(t, "boxes") {
		x, y := place(t), place(t)
		b.head.Boxes = append(b.head.Boxes, surface.Box{X0: x, Y0: y,
			X1: x + pick(t, "wide", 0.01, 2, 15), Y1: y + pick(t, "deep", 0.01, 2, 15), Height: pick(t, "tall", -3.0, 0.5, 3)})
	}
	b.model = clearance.New(b.on, &b.head, b.slack)
	return b
}

func ups(disks []bench.Disk) (all []float64) {
	for _, d := range disks {
		all = append(all, d.Up)
	}
	return all
}

func place(t *rapid.T) float64 {
	return rapid.OneOf(rapid.Float64Range(-2, side+2), rapid.SampledFrom([]float64{0, 7, 20, side})).Draw(t, "place")
}

// asked samples how high the focus must stand for the beam at x, y: each part of the
// head is a disk, and no sample is higher than what it meets.
func (b *site) asked(x, y float64) float64 {
	most := math.Inf(-1)
	for _, d := range b.head.Disks() {
		most = max(most, b.askedOf(d.Radius+b.slack.Lateral, x, y)-d.Up)
	}
	return most + b.head.Gap - b.head.Standoff + b.slack.Height
}

// askedOf is the highest within reach of x, y.
func (b *site) askedOf(reach, x, y float64) float64 {
	const rings, turns = 4, 24
	high := math.Inf(-1)
	for ring := range rings + 1 {
		for turn := range turns {
			a, r := 2*math.Pi*float64(turn)/turns, reach*float64(ring)/rings
			h, _ := b.on.At(x+r*math.Cos(a), y+r*math.Sin(a))
			high = max(high, h)
		}
	}
	for _, box := range surfacetest.Standing(b.on, b.head.Boxes, 4*side) {
		dx, dy := x-min(max(x, box.X0), box.X1), y-min(max(y, box.Y0), box.Y1)
		if math.Hypot(dx, dy) < reach-rounded {
			high = max(high, box.Height)
		}
	}
	return high
}

func drawMove(t *rapid.T) *machine.Move {
	m := &machine.Move{Kind: machine.Line, From: machine.Point{X: place(t), Y: place(t)}, To: machine.Point{X: place(t), Y: place(t)}}
	m.Length = math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y)
	if !rapid.Bool().Draw(t, "arc") {
		return m
	}
	m.Kind = machine.Arc
	m.CX, m.CY = place(t), place(t)
	m.R0 = rapid.Float64Range(0.1, side/2).Draw(t, "r")
	m.R1 = m.R0 + pick(t, "spiral", 0, 0, 0.002)
	m.A0, m.Sweep = rapid.Float64Range(-4, 4).Draw(t, "from"), rapid.Float64Range(-7, 7).Draw(t, "sweep")
	m.Length = math.Hypot(m.Sweep*max(m.R0, m.R1), m.R1-m.R0)
	end := func(r, a float64) machine.Point {
		return machine.Point{X: m.CX + r*math.Cos(a), Y: m.CY + r*math.Sin(a)}
	}
	m.From, m.To = end(m.R0, m.A0), end(m.R1, m.A0+m.Sweep)
	return m
}

// Along a move nothing asks for more than is said; a rectangle about it asks for no
// less, nor does everywhere.
func TestAskedAlongMoves(t *testing.T) {
	const samples = 100
	rapid.Check(t, func(t *rapid.T) {
		b, m := drawBench(t), drawMove(t)
		from := pick(t, "from", 0, 0, 0.3)
		ceil := b.model.Append(nil, m, from)
		covered, highest := 0.0, math.Inf(-1)
		for _, c := range ceil {
			if math.Abs(c.S0-covered) > 1e-12 {
				t.Fatalf("from %g, after %g", c.S0, covered)
			}
			covered, highest = c.S1, max(highest, c.High)
		}
		if covered != 1 {
			t.Fatalf("the move is covered to %g", covered)
		}
		if m.Kind == machine.Line && from == 0 && b.model.Highest(m) != highest {
			t.Fatalf("another height is asked on all of it than %g", highest)
		}
		x0, y0, x1, y1 := clearance.Extent(m)
		most := min(b.model.Within(x0, y0, x1, y1), b.model.Everywhere())
		for k := range samples + 1 {
			s := float64(k) / samples
			at := m.XY(from + (1-from)*s)
			if at[0] < x0-rounded || at[0] > x1+rounded || at[1] < y0-rounded || at[1] > y1+rounded {
				t.Fatalf("%v is outside of the extent %v of %+v", at, [4]float64{x0, y0, x1, y1}, m)
			}
			for len(ceil) > 1 && ceil[0].S1 < s {
				ceil = ceil[1:]
			}
			if asked := b.asked(at[0], at[1]); asked > min(ceil[0].High, most)+rounded {
				t.Fatalf("%g mm is asked at %v, said to be %g there and %g at most", asked, at, ceil[0].High, most)
			}
		}
	})
}

// What is asked is not much more than need be: no higher than what stands within
// a little more than the radius.
func TestAskedIsTight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBench(t)
		x, y := place(t), place(t)
		wider := *b
		wider.head.Radius += 0.3
		wider.head.Above = slices.Clone(b.head.Above)
		widest := wider.head.Radius
		for k := range wider.head.Above {
			wider.head.Above[k].Radius += 0.3
			widest = wider.head.Above[k].Radius
		}
		// Between samples the surface rises by no more than its slope allows.
		between := (widest + b.slack.Lateral) * 0.3 * b.on.MaxSlope()
		most := wider.asked(x, y) + between + 4*max(b.slack.Tolerance, 0.05*b.on.MaxSlope())
		m := &machine.Move{Kind: machine.Line, To: machine.Point{X: x, Y: y}, FromUnknown: true, Length: 9}
		for _, c := range b.model.Append(nil, m, 0) {
			if c.High > most {
				t.Fatalf("%g mm is asked at its end alone, where %g do", c.High, most)
			}
		}
	})
}

// Where the depth is said to keep the tip clear it does, wherever the beam is.
func TestClearsOnlyWhatIsClear(t *testing.T) {
	const samples = 6
	clear, not := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		b := drawBench(t)
		x0, y0 := place(t), place(t)
		x1, y1 := x0+pick(t, "width", 0, 3.0, 30), y0+pick(t, "height", 0, 3.0, 30)
		lead, lift := pick(t, "lead", -3, -0.5, 1.0), pick(t, "lift", -1.0, 0, 0, 2)
		if !b.model.Clears(x0, y0, x1, y1, lead, lift) {
			not++
			if lead+lift > b.model.Everywhere()-lowest(b.on)+rounded {
				t.Fatal("not clear where all is")
			}
			return
		}
		clear++
		for i := range samples + 1 {
			for j := range samples + 1 {
				x, y := x0+(x1-x0)*float64(i)/samples, y0+(y1-y0)*float64(j)/samples
				h, _ := b.on.At(x, y)
				if asked := b.asked(x, y); asked > h+lead+lift+rounded {
					t.Fatalf("at %g, %g the focus stands at %g, where %g is asked", x, y, h+lead+lift, asked)
				}
			}
		}
	})
	if clear < 10 || not < 10 {
		t.Errorf("%d are clear, %d not", clear, not)
	}
}

func lowest(on *surface.Placed) float64 {
	low, _, _, _ := on.Range()
	return low
}

// On flat stock without boxes the answers are exact.
func TestFlatStockByHand(t *testing.T) {
	flat := func(float64, float64) float64 { return 2 }
	on := surfacetest.Of(t, "bilinear", []float64{0, 50}, []float64{0, 50}, flat)
	m := clearance.New(on, &bench.Head{Radius: 5, Standoff: 6, Gap: 1.5}, clearance.Slack{Height: 0.01})
	const want = 2 + 1.5 - 6 + 0.01
	for name, got := range map[string]float64{
		"everywhere": m.Everywhere(), "within": m.Within(3, 3, 9, 9), "straight": m.Highest(&machine.Move{Kind: machine.Line, From: machine.Point{X: 3, Y: 3}, To: machine.Point{X: 40, Y: 9}, Length: 38}),
	} {
		if math.Abs(got-want) > rounded {
			t.Errorf("%s: %g, want %g", name, got, want)
		}
	}
	for _, c := range []struct {
		lead, lift float64
		clear      bool
	}{{-4.48, 0, true}, {-4.5, 0, false}, {-5, 0.52, true}, {-5, 0.5, false}} {
		if m.Clears(10, 10, 20, 20, c.lead, c.lift) != c.clear {
			t.Errorf("a lead of %g and a lift of %g: clear is not %v", c.lead, c.lift, c.clear)
		}
	}
	// A box counts within the radius of its corner, and no further.
	tall := clearance.New(on, &bench.Head{Radius: 5, Boxes: []surface.Box{{X0: 30, Y0: 30, X1: 40, Y1: 40, Height: 8}}}, clearance.Slack{})
	for _, c := range []struct{ x, y, want float64 }{{26.5, 26.5, 8}, {26.4, 26.4, 2}, {25.1, 35, 8}, {24.9, 35, 2}, {35, 35, 8}} {
		if got := tall.Within(c.x, c.y, c.x, c.y); math.Abs(got-c.want) > rounded {
			t.Errorf("at %g, %g: %g, want %g", c.x, c.y, got, c.want)
		}
	}
	if clearance.New(on, nil, clearance.Slack{}) != nil {
		t.Error("a model of no head")
	}
}

// A head goes straight from where it stands, an axis at a time as the program says
// them, until it has said both, or sends it where nobody knows.
func TestEntry(t *testing.T) {
	stand := [2]float64{3, 4}
	to := func(x, y, z float64) *machine.Move {
		return &machine.Move{Kind: machine.Line, Rapid: true, FromUnknown: true, From: machine.Point{Z: 1}, To: machine.Point{X: x, Y: y, Z: z}}
	}
	all := clearance.EntryFrom(&stand)
	way := all.Way(to(6, 8, -2), true, true)
	if way == nil || way.From != (machine.Point{X: 3, Y: 4, Z: 1}) || way.Length != 5 || way.FromUnknown || !way.Rapid {
		t.Errorf("%+v", way)
	}
	if all.Way(to(9, 9, 9), true, true) != nil {
		t.Error("a way from where it stood, twice")
	}
	parts := clearance.EntryFrom(&stand)
	for k, c := range []struct {
		x, y     bool
		from, to machine.Point
	}{
		{false, false, machine.Point{X: 3, Y: 4, Z: 1}, machine.Point{X: 3, Y: 4, Z: 2}},
		{true, false, machine.Point{X: 3, Y: 4, Z: 1}, machine.Point{X: 7, Y: 4, Z: 2}},
		{true, true, machine.Point{X: 7, Y: 4, Z: 1}, machine.Point{X: 7, Y: 9, Z: 2}},
	} {
		if way := parts.Way(to(7, 9, 2), c.x, c.y); way == nil || way.From != c.from || way.To != c.to {
			t.Errorf("%d: %+v", k, way)
		}
	}
	var none clearance.Entry
	if none.Way(to(6, 8, 0), true, true) != nil || clearance.EntryFrom(nil) != none {
		t.Error("a way from nowhere")
	}
	for name, change := range map[string]func(*machine.Move){
		"known": func(m *machine.Move) { m.FromUnknown = false }, "gone": func(m *machine.Move) { m.Lost = machine.AxisX },
	} {
		e, m := clearance.EntryFrom(&stand), to(6, 8, 0)
		change(m)
		if e.Way(m, true, false) != nil || e.Way(to(6, 8, 0), true, true) != nil {
			t.Errorf("%s: a way", name)
		}
	}
	for name, change := range map[string]func(*machine.Move){
		"without Z": func(m *machine.Move) { m.ZUnknown = true }, "Z gone": func(m *machine.Move) { m.Lost = machine.AxisZ },
		"still": func(m *machine.Move) { m.Kind = machine.Still },
	} {
		e, m := clearance.EntryFrom(&stand), to(6, 8, 0)
		change(m)
		if e.Way(m, false, false) != nil {
			t.Errorf("%s: a way", name)
		}
		if way := e.Way(to(6, 8, 0), true, true); way == nil || way.Length != 5 {
			t.Errorf("%s: %+v", name, way)
		}
	}
}
