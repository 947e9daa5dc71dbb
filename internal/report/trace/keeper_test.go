package trace

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// bent is a straight way over a height that is a parabola of the fraction: its extremes are
// known.
type bent struct {
	from, to orb.Point
	h        [3]float64
	none     bool
}

func (b *bent) XY(u float64) [2]float64 {
	return [2]float64{b.from[0] + (b.to[0]-b.from[0])*u, b.from[1] + (b.to[1]-b.from[1])*u}
}

func (b *bent) At(u float64) (float64, bool) { return b.h[0] + u*(b.h[1]+u*b.h[2]), !b.none }

// parabola gives the extent of a + bu + cu² over 0 to 1.
func parabola(a, b, c float64) Extent {
	e := Extent{Lo: math.Inf(1), Hi: math.Inf(-1)}
	at := []float64{0, 1}
	if u := -b / (2 * c); u > 0 && u < 1 {
		at = append(at, u)
	}
	for _, u := range at {
		v := a + u*(b+u*c)
		if v < e.Lo {
			e.Lo, e.AtLo = v, u
		}
		if v > e.Hi {
			e.Hi, e.AtHi = v, u
		}
	}
	return e
}

// walker draws the steps of a path.
type walker struct {
	r    *rand.Rand
	at   orb.Point
	line int
	way  bent
	less bool
	kind int // what its steps are like
}

// The kinds of paths.
const (
	anyhow = iota
	dots
	inPlace // all at one place
	toAndFro
	timeless
	kinds
)

func (w *walker) step() *Step {
	w.line++
	s := &Step{Line: w.line, OriginalLine: w.line / 2, Burns: w.r.IntN(3) > 0, Speed: 1, Seconds: w.r.Float64(), Text: []byte("G1 X1 Y1\r\n")}
	long := []float64{0, 0.1, 3, 200}[w.r.IntN(4)]
	to := w.at
	switch w.kind {
	case dots:
		long = 0.1
		to[0] += long
		if w.line%200 == 0 {
			to = orb.Point{0, w.at[1] + 0.1}
		}
	case inPlace:
	case toAndFro:
		to = orb.Point{float64(w.line%2) * 50, 1}
	default:
		a := w.r.Float64() * 7
		to = orb.Point{w.at[0] + long*math.Cos(a), w.at[1] + long*math.Sin(a)}
	}
	if w.kind == timeless {
		s.Seconds = 0
	}
	w.way = bent{from: w.at, to: to}
	s.LengthMM = math.Hypot(to[0]-w.at[0], to[1]-w.at[1])
	steep := 0.02 * s.LengthMM
	w.way.h = [3]float64{math.Sin(w.at[0]/40) + w.r.Float64()*0.1, steep * w.r.NormFloat64(), steep * w.r.NormFloat64()}
	s.C0, s.C1 = w.way.h[0]+w.r.NormFloat64()*0.3, w.way.h[0]+w.r.NormFloat64()*0.3
	s.Way, s.ZSpeed, s.ZStep = &w.way, w.r.Float64()*100, w.r.Float64()
	s.Middle, _ = w.way.At(0.5)
	h := w.way.h
	s.Within = math.Abs(h[1])/2 + math.Abs(h[2])
	if w.r.IntN(8) == 0 {
		s.Within = math.Inf(1)
	}
	if s.Burns {
		s.Height, s.Defocus = parabola(h[0], h[1], h[2]), parabola(s.C0-h[0], s.C1-s.C0-h[1], -h[2])
		s.Spent, s.Speed = s.Defocus, 0.5+w.r.Float64()/2
		if w.less {
			s.Less = w.r.Float64() / 10
			s.Spent.LessLo, s.Spent.LessHi = s.Less, s.Less
			s.Spent.Lo, s.Spent.Hi = s.Spent.Lo-s.Less, s.Spent.Hi+s.Less
		}
		if w.way.none = w.r.IntN(20) == 0; w.way.none {
			s.NoHeight, s.Middle = true, math.NaN()
			w.way.h[0] = math.NaN()
		}
	} else if w.r.IntN(6) == 0 {
		s.Waits, s.Stops, s.C0, s.C1, s.Remark = true, w.r.IntN(2) == 0, 0, 0, "(turn\nit)"
		w.way.to, s.LengthMM, to = w.at, 0, w.at
	}
	w.at = to
	return s
}

// all is what there is over all steps.
type all struct {
	seconds, mm, blank, zSpeed, zStep, slowed, less, worst float64
	c, height, defocus                                     Range
	box                                                    box
	waits, burns                                           int
	first, last                                            int
}

func (a *all) take(s *Step, d *depth) {
	a.seconds += s.Seconds
	a.last = s.Line
	if a.first == 0 {
		a.first = s.Line
	}
	if s.Waits {
		a.waits++
	}
	if !s.Stops {
		a.c.Add(s.C0)
		a.c.Add(s.C1)
		a.zSpeed = max(a.zSpeed, s.ZSpeed)
	}
	if !s.Burns {
		return
	}
	a.burns++
	a.zStep = max(a.zStep, s.ZStep)
	a.mm += s.LengthMM
	a.slowed, a.less = min(a.slowed, s.Speed), max(a.less, s.Less)
	a.box.add(s.Way.XY(0))
	a.box.add(s.Way.XY(1))
	if s.NoHeight {
		a.blank += s.LengthMM
		return
	}
	a.height.Join(Range{s.Height.Lo, s.Height.Hi})
	a.defocus.Join(Range{s.Defocus.Lo, s.Defocus.Hi})
	a.worst = max(a.worst, -d.part(s.Spent.Lo), d.part(s.Spent.Hi))
}

// Whatever the path, what the stretches tell together is what its steps do: extremes to the
// last bit, times, lengths, lines and their order.
func TestStretchesStandForAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{0, 1, 2, 50, 3999, 4000, 4001, 9000, 15000}).Draw(t, "steps")
		seed := rapid.Uint64().Draw(t, "seed")
		programs := rapid.IntRange(1, 3).Draw(t, "programs")
		w := &walker{r: rand.New(rand.NewPCG(seed, 1)), less: rapid.Bool().Draw(t, "less sure"), kind: rapid.IntRange(0, kinds-1).Draw(t, "kind")}
		k := NewKeeper(rapid.Bool().Draw(t, "original"))
		of := make([]all, programs)
		for i := range of {
			p := Program{Name: "p", Near: 0.5 + float64(i), Far: 1 + float64(i)}
			k.Begin(p)
			a := &of[i]
			*a = all{c: Empty(), height: Empty(), defocus: Empty(), box: newBox(), slowed: 1, worst: -1}
			for range n / programs {
				s := w.step()
				a.take(s, &k.depth)
				k.Take(s)
			}
			k.End(n, orb.Bound{})
		}
		tr := k.Trace()
		if len(tr.Stretches) > mostStretches || len(tr.Programs) != programs {
			t.Fatalf("%d stretches, %d programs", len(tr.Stretches), len(tr.Programs))
		}
		if n <= mostStretches && w.kind == inPlace && len(tr.Stretches) < n/programs*programs {
			t.Fatalf("%d stretches of %d steps", len(tr.Stretches), n)
		}
		got := make([]all, programs)
		for i := range got {
			got[i] = all{c: Empty(), height: Empty(), defocus: Empty(), slowed: 1, worst: -1}
		}
		until, last, program, begun := 0.0, 0, -1, 0.0
		for i, s := range tr.Stretches {
			if s.Program != program {
				for program++; program < s.Program; program++ { // which has no steps
				}
				if p := tr.Programs[program]; p.First != i || math.Abs(p.Seconds-begun) > 1e-9*(1+begun) {
					t.Fatalf("program %d begins with stretch %d at %v s, not %d at %v s", program, p.First, p.Seconds, i, begun)
				}
				last = 0
			}
			a := &got[s.Program]
			if s.Line < last || s.LastLine < s.Line || math.Abs(s.At-until) > 1e-9*(1+until) || s.Until < s.At {
				t.Fatalf("stretch %d of lines %d to %d from %v to %v s is behind line %d and %v s", i, s.Line, s.LastLine, s.At, s.Until, last, until)
			}
			last, until = s.LastLine, s.Until
			begun += s.Until - s.At
			a.seconds += s.Until - s.At
			a.c.Join(s.C)
			a.zSpeed = max(a.zSpeed, s.ZSpeed)
			a.zStep = max(a.zStep, s.ZStep)
			if s.Burns {
				a.mm += s.BurnMM
				a.height.Join(s.Height)
				a.defocus.Join(s.Defocus)
				a.slowed, a.less = min(a.slowed, s.Slowed), max(a.less, s.Less)
			}
			if s.Text != "G1 X1 Y1" {
				t.Fatalf("stretch %d: text %q", i, s.Text)
			}
		}
		most := ZStep{}
		for i := range of {
			want, has := of[i], got[i]
			if want.zStep > most.MMS {
				most.MMS, most.Program = want.zStep, i
			}
			want.box, want.waits, want.burns, want.first, want.last, want.blank, want.worst = box{}, 0, 0, 0, 0, 0, -1
			near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(b)) }
			if !near(has.seconds, want.seconds) || !near(has.mm, want.mm) {
				t.Fatalf("program %d: %v s, %v mm; want %v s, %v mm", i, has.seconds, has.mm, want.seconds, want.mm)
			}
			has.seconds, has.mm = want.seconds, want.mm
			if has != want {
				t.Fatalf("program %d:\n%+v, want\n%+v", i, has, want)
			}
		}
		if s := tr.ZStep; s.MMS != most.MMS || s.Program != most.Program || s.MMS > 0 && !slices.ContainsFunc(tr.Stretches, func(o Stretch) bool {
			return o.Program == s.Program && o.ZStep == s.MMS && o.ZStepAt == s.Seconds && o.Line <= s.Line && s.Line <= o.LastLine && o.At <= s.Seconds && s.Seconds <= o.Until
		}) {
			t.Fatalf("the greatest step is told as %+v, not as %+v", s, most)
		}
		check(t, tr, of)
	})
}

// check holds what is told besides to all steps.
func check(t *rapid.T, tr *Trace, of []all) {
	mm, blank, waits, burns, worst := 0.0, 0.0, 0, 0, -1.0
	about := newBox()
	for i := range of {
		a := &of[i]
		mm, blank, waits, burns, worst = mm+a.mm, blank+a.blank, waits+a.waits, burns+a.burns, max(worst, a.worst)
		about.join(a.box)
	}
	for _, s := range []*Share{&tr.Share, tr.Before} {
		if s == nil {
			continue
		}
		sum := blank
		for _, v := range s.MM {
			sum += v
		}
		if math.Abs(s.Total-mm) > 1e-9*(1+mm) || math.Abs(sum-mm) > 1e-9*(1+mm) || s.Within > s.Total*(1+1e-9) {
			t.Fatalf("shares of %v, %v in all, %v within; burned %v of which %v have no height", sum, s.Total, s.Within, mm, blank)
		}
	}
	until := 0.0
	for _, w := range tr.Waits {
		if near := 1e-9 * (1 + until); w.Seconds < until-near || w.Lasts < 0 || w.Seconds+w.Lasts > tr.Seconds+near {
			t.Fatalf("%+v, the one before until %v s, of %v s", w, until, tr.Seconds)
		}
		until = w.Seconds + w.Lasts
	}
	if tr.Waiting != waits || len(tr.Waits) != min(waits, mostWaits) || waits > 0 && tr.Waits[0].Remark != "(turnit)" {
		t.Fatalf("%d waits, %d kept, want %d: %+v", tr.Waiting, len(tr.Waits), waits, tr.Waits[:min(waits, 1)])
	}
	if b := about.bound(); tr.Bounds != b || burns == 0 && tr.Bounds != (orb.Bound{}) {
		t.Fatalf("bounds %v, want %v", tr.Bounds, b)
	}
	spent := func(p Place) float64 {
		pr := tr.Programs[p.Program]
		if less := pr.Near - p.Depth; less > -1e-9 && less <= 0.1 { // sides differ by more
			return (-p.Defocus + less) / pr.Near
		}
		return (p.Defocus + pr.Far - p.Depth) / pr.Far
	}
	switch {
	case worst < 0:
		if len(tr.Worst) > 0 {
			t.Fatalf("%+v of no burns", tr.Worst)
		}
	case len(tr.Worst) == 0 || len(tr.Worst) > mostPlaces || math.Abs(spent(tr.Worst[0])-worst) > 1e-9:
		t.Fatalf("worst %+v, want %v of the depth", tr.Worst, worst)
	}
	for i, p := range tr.Worst {
		if i > 0 && spent(p) > spent(tr.Worst[i-1])+1e-9 || p.Text != "G1 X1 Y1" {
			t.Fatalf("worst %+v", tr.Worst)
		}
		for _, o := range tr.Worst[:i] {
			if math.Abs(o.Seconds-p.Seconds) < tr.Seconds*apart {
				t.Fatalf("%v and %v s are near each other in %v s", o.Seconds, p.Seconds, tr.Seconds)
			}
		}
	}
	seen(t, tr, burns, about)
}

// seen holds the picture from above to bounds: strokes or cells, few of them, all of it
// within what is burned.
func seen(t *rapid.T, tr *Trace, burns int, about box) {
	a := &tr.Above
	if burns > 0 && (len(a.Strokes) > 0) == (a.Cells != nil) {
		t.Fatalf("%d strokes, cells %v", len(a.Strokes), a.Cells != nil)
	}
	points := 0
	for i := range a.Strokes {
		points += len(a.Strokes[i].Points)
		for _, p := range a.Strokes[i].Points {
			if !about.bound().Pad(1e-9).Contains(p) {
				t.Fatalf("%v is not within %v", p, about.bound())
			}
		}
	}
	if len(a.Strokes) > mostStrokes || points > mostPoints || len(a.Travels) > mostWays {
		t.Fatalf("%d strokes, %d points, %d travels", len(a.Strokes), points, len(a.Travels))
	}
	c := a.Cells
	if c == nil {
		return
	}
	n := c.NX * c.NY
	if c.NX > across || c.NY > across || len(c.Defocus) != n || len(c.C) != n || len(c.Program) != n || len(c.Line) != n {
		t.Fatalf("%d x %d cells, %d", c.NX, c.NY, len(c.Defocus))
	}
	b := about.bound()
	cell := (c.Bounds.Max[0] - c.Bounds.Min[0]) / float64(c.NX)
	if !c.Bounds.Pad(1e-9).Contains(b.Min) || !c.Bounds.Pad(1e-9).Contains(b.Max) || !b.Pad(cell*(1+1e-9)).Contains(c.Bounds.Min) || !b.Pad(cell*(1+1e-9)).Contains(c.Bounds.Max) {
		t.Fatalf("cells over %v, burns over %v", c.Bounds, b)
	}
	some := 0
	for i := range n {
		if (c.Defocus[i] != c.Defocus[i]) != (c.Line[i] == 0) && c.Line[i] == 0 {
			t.Fatalf("cell %d burns on no line", i)
		}
		if c.Line[i] > 0 {
			some++
		}
	}
	if some == 0 {
		t.Fatal("no cell is burned")
	}
}

// A long move over a bow is told in parts that are where the bow is, not as a chord.
func TestLongMovesAreDivided(t *testing.T) {
	way := &bent{from: orb.Point{0, 0}, to: orb.Point{300, 0}, h: [3]float64{0, 4.8, -4.8}} // 1.2 high in the middle
	k := NewKeeper(true)
	k.Begin(Program{Near: 1, Far: 1})
	k.Take(&Step{Line: 1, Burns: true, Way: way, LengthMM: 300, Middle: 1.2, Within: 2.4, Seconds: 10,
		Height: parabola(0, 4.8, -4.8), Defocus: parabola(0, -4.8, 4.8), Spent: parabola(0, -4.8, 4.8), Speed: 1, Text: []byte("G1 X300")})
	tr := k.Trace()
	if n := len(tr.Stretches); n < 8 || n > 100 {
		t.Fatalf("%d stretches", n)
	}
	for i, s := range tr.Stretches {
		for u := s.At / 10; u <= s.Until/10; u += 0.001 {
			h, _ := way.At(u)
			if h < s.Height.Lo-0.03 || h > s.Height.Hi+0.03 || s.Height.Hi-s.Height.Lo > 0.1 {
				t.Fatalf("stretch %d, %+v: %v at %v", i, s.Height, h, u)
			}
		}
	}
	w := tr.Worst[0]
	if math.Abs(w.Defocus+1.2) > 1e-9 || math.Abs(w.Seconds-5) > 1e-9 || w.At != (orb.Point{150, 0}) || w.Text != "G1 X300" {
		t.Errorf("%+v", w)
	}
	// Of a parabola 1-(1-1/1.2)^½ of the length is within 1 mm.
	if want := 300 * (1 - math.Sqrt(1-1/1.2)); math.Abs(tr.Share.Within-want) > 3 || math.Abs(tr.Before.Within-want) > 3 {
		t.Errorf("%v and %v mm within, want %v", tr.Share.Within, tr.Before.Within, want)
	}
	if len(tr.Above.Strokes) < 8 {
		t.Errorf("%d strokes: not even", len(tr.Above.Strokes))
	}
}

// A short burn over which the defocus goes by many times the depth is a stroke as well.
func TestSteepBurnIsAStroke(t *testing.T) {
	way := &bent{to: orb.Point{0.2, 0}}
	k := NewKeeper(false)
	k.Begin(Program{Near: 0.05, Far: 0.05})
	k.Take(&Step{Line: 1, Burns: true, Way: way, LengthMM: 0.2, C1: 10, Seconds: 1, Defocus: Extent{Lo: 0, Hi: 10, AtHi: 1}, Spent: Extent{Lo: 0, Hi: 10, AtHi: 1}, Speed: 1})
	if a := k.Trace().Above; len(a.Strokes) == 0 || a.Strokes[len(a.Strokes)-1].Defocus != 200 {
		t.Errorf("%+v", a)
	}
}

// Cells keep the worst of what they cover, however the lattice grows.
func TestCellsKeepTheWorst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := newCells(rapid.SampledFrom([]float64{0, 1, 100}).Draw(t, "side"))
		worst := 0.0
		var points []ink
		for range rapid.IntRange(1, 60).Draw(t, "points") {
			reach := rapid.SampledFrom([]float64{1, 100, 1e4, 1e8}).Draw(t, "reach")
			p := orb.Point{rapid.Float64Range(-reach, reach).Draw(t, "x"), rapid.Float64Range(-reach, reach).Draw(t, "y")}
			i := ink{from: p, to: p, part0: rapid.Float64Range(-2, 2).Draw(t, "part"), line: len(points) + 1}
			i.part1 = i.part0
			worst = max(worst, math.Abs(i.part0))
			points = append(points, i)
			c.line(&i)
		}
		out := c.cells()
		found := 0.0
		for _, v := range out.Defocus {
			if v == v {
				found = max(found, math.Abs(float64(v)))
			}
		}
		if math.Abs(found-worst) > 1e-6 {
			t.Fatalf("worst %v, want %v", found, worst)
		}
		for _, i := range points {
			x, y := int(math.Floor(i.from[0]/c.size))-c.x0, int(math.Floor(i.from[1]/c.size))-c.y0
			if v := out.Defocus[y*out.NX+x]; !(math.Abs(float64(v)) >= math.Abs(i.part0)-1e-6) {
				t.Fatalf("%v at %v, and %v was burned there", v, i.from, i.part0)
			}
		}
	})
}

// Lines are shown as they are, but for what does not print, and cut short.
func TestTextIsPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"G1 X1\r\n": "G1 X1", "G1\tX1": "G1 X1", "\x1b[2J(\xff\u202eabc)": "[2J(abc)", "(ä)": "(ä)", "": "",
	} {
		if got := printable([]byte(in)); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
	k := NewKeeper(false)
	k.Begin(Program{Near: 1, Far: 1})
	k.Take(&Step{Line: 1, Way: &bent{}, Text: []byte(strings.Repeat("ä", 200))})
	if got := k.Trace().Stretches[0].Text; len(got) > mostText || !slices.Contains([]string{"ä", ""}, strings.ReplaceAll(got, "ää", "")) {
		t.Errorf("%q", got)
	}
}

// The parts of a move have its extremes between them, to the last bit, wherever they are.
func TestPartsHaveTheExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &walker{r: rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2)), less: rapid.Bool().Draw(t, "less sure")}
		k := NewKeeper(false)
		k.Begin(Program{Near: 1, Far: 1})
		n, a := 0, all{c: Empty(), height: Empty(), defocus: Empty(), box: newBox(), slowed: 1, worst: -1}
		for n < 3 {
			if s := w.step(); s.LengthMM > 100 && !s.NoHeight {
				n++
				a.take(s, &k.depth)
				k.Take(s)
			}
		}
		height, defocus := Empty(), Empty()
		tr := k.Trace()
		for _, s := range tr.Stretches {
			if s.Burns {
				height.Join(s.Height)
				defocus.Join(s.Defocus)
			}
		}
		if height != a.height || defocus != a.defocus {
			t.Fatalf("heights %v and defocus %v, want %v and %v", height, defocus, a.height, a.defocus)
		}
	})
}

// Long strokes are few, and have many points: cells take their place as well.
func TestManyPointsAreCells(t *testing.T) {
	var a above
	a.bounds, a.moved = newBox(), newBox()
	at := orb.Point{}
	for i := range mostPoints + mostPoints/10 {
		to := orb.Point{float64(i % 2), float64(i) / 100}
		a.burn(&ink{from: at, to: to, line: i + 1})
		at = to
		if n := len(a.strokes); a.cells == nil && n > mostStrokes/10 {
			t.Fatalf("%d strokes", n)
		}
	}
	if a.cells == nil || a.points < mostPoints {
		t.Errorf("%d points, cells %v", a.points, a.cells != nil)
	}
}
