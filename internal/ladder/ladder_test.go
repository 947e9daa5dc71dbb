package ladder

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/stroke"
)

// drawOptions draws a ladder on a bench of any kind.
func drawOptions(t *rapid.T) Options {
	maybe := func(name string, lo, hi float64) *float64 {
		if !rapid.Bool().Draw(t, name+" known") {
			return nil
		}
		v := math.Round(rapid.Float64Range(lo, hi).Draw(t, name)*100) / 100
		return &v
	}
	o := plain()
	o.StepMM = rapid.SampledFrom([]float64{0.1, 0.125, 0.25, 0.3, 0.5, 1, 1.0 / 3, 2}).Draw(t, "step")
	o.ReachMM = o.StepMM * rapid.Float64Range(1, 8).Draw(t, "reach in steps")
	o.FeedMMMin = rapid.SampledFrom([]float64{1, 333.3, 1500, 12000}).Draw(t, "feed")
	o.PowersPct = rapid.SliceOfNDistinct(rapid.SampledFrom([]float64{0.5, 12.5, 30, 40, 99, 100}), 1, 4, rapid.ID[float64]).Draw(t, "powers")
	o.StandoffMM = maybe("standoff", 0, 8)
	m := o.Machine
	m.GapMinMM = maybe("gap", 0, 4)
	m.ZPlus = rapid.SampledFrom([]string{record.Away, record.Toward}).Draw(t, "plus")
	m.ZMoves = rapid.SampledFrom([]string{record.ZAlways, record.ZByHand}).Draw(t, "z moves")
	m.ZStepMM = rapid.SampledFrom([]*float64{nil, new(0.05), new(0.04), new(0.3)}).Draw(t, "crank")
	m.ZResolutionMM = rapid.SampledFrom([]*float64{nil, new(0.001), new(0.04)}).Draw(t, "resolution")
	m.ZBacklashMM = rapid.SampledFrom([]*float64{nil, new(0.02), new(0.7)}).Draw(t, "backlash")
	m.ZMinMM, m.ZMaxMM = maybe("z min", -30, 0), maybe("z max", 0, 30)
	m.SMax = rapid.SampledFrom([]float64{1, 100, 255, 1000}).Draw(t, "full power")
	m.Decimals = new(rapid.IntRange(0, 4).Draw(t, "decimals"))
	m.Comments = rapid.Bool().Draw(t, "comments")
	m.Numbered = rapid.Bool().Draw(t, "numbered")
	m.LineMax = rapid.SampledFrom([]*int{nil, new(45), new(80)}).Draw(t, "line max")
	if rapid.Bool().Draw(t, "inches") {
		m.Units = record.UnitsInch
		*m.Decimals += 2
	}
	m.ZAxis = rapid.SampledFrom([]string{"Z", "U", "V", "W", "A"}).Draw(t, "axis")
	m.RapidsFire = rapid.Bool().Draw(t, "rapids fire")
	o.StartZMM = rapid.SampledFrom([]float64{0, 0, 2, -5}).Draw(t, "start z")
	if rapid.Bool().Draw(t, "other words") {
		m.BeamOn, m.BeamOff, m.PowerFollowsSpeed, m.PowerWord = []int{106, 3}, []int{107, 5}, nil, "Q"
	}
	return o
}

// TestLadderIsWhatItSays reads drawn ladders back and holds them to what the
// package promises.
func TestLadderIsWhatItSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOptions(t)
		p, err := New(o)
		if err != nil {
			if !diag.Is(err, diag.Unmet) && !diag.Is(err, diag.Setting) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		text, err := p.Program()
		if err != nil {
			t.Fatal(err)
		}
		groups, end := readBack(t, p, text)
		checkOffsets(t, p)
		checkGroups(t, p, groups)
		if end.Beam != machine.Off || end.At.X != 0 || end.At.Y != 0 {
			t.Errorf("ends at %+v, beam %d", end.At, end.Beam)
		}
		if d := math.Abs(end.At.Z - o.StartZMM); !o.byHand() && d > zHalf(p) {
			t.Errorf("ends %g mm off best focus", d)
		}
		if o.Machine.Comments != strings.Contains(string(text), "(") {
			t.Errorf("comments %v, but the program has the other", o.Machine.Comments)
		}
	})
}

// zHalf is how far the Z written may be from the one wanted: half the grain
// (half a decimal where it is fine), and the decimal's rounding on top.
func zHalf(p *Ladder) float64 {
	return p.unit/math.Pow10(p.decimals)/2 + p.grain/2 + 1e-9
}

func checkOffsets(t failer, p *Ladder) {
	n := len(p.Offsets)
	if p.Offsets[n-1] != 0 || !slices.Contains(p.Offsets[:n-1], 0) {
		t.Fatalf("best focus does not stand within and at the end: %v", p.Offsets)
	}
	for i := 1; i < n-1; i++ {
		if d := p.Offsets[i-1] - p.Offsets[i]; math.Abs(d-p.StepMM) > 1e-9 {
			t.Errorf("from %g to %g is no step of %g nearer", p.Offsets[i-1], p.Offsets[i], p.StepMM)
		}
	}
	if far := p.Offsets[0]; far > p.opt.ReachMM+1e-9 || far+p.StepMM <= p.opt.ReachMM-1e-9 {
		t.Errorf("reaches %g mm of %g", far, p.opt.ReachMM)
	}
	all := len(p.Offsets) - 1 + len(p.ClippedMM)
	if want := 2*int(math.Round(p.ReachMM/p.StepMM)) + 1; all != want {
		t.Errorf("%d offsets marked or left out, want %d", all, want)
	}
	if p.opt.StandoffMM == nil {
		if p.ClippedMM != nil {
			t.Errorf("left out %v, with nothing to clear", p.ClippedMM)
		}
		return
	}
	gap := 0.0
	if p.opt.Machine.GapMinMM != nil {
		gap = *p.opt.Machine.GapMinMM
	}
	for _, off := range p.Offsets {
		if g := *p.opt.StandoffMM + off; g < gap-1e-6 || g <= 0 {
			t.Errorf("a gap of %g mm at %g", g, off)
		}
	}
	for _, off := range p.ClippedMM {
		if g := *p.opt.StandoffMM + off; g > gap+1e-6 {
			t.Errorf("left out %g, which leaves a gap of %g mm", off, g)
		}
	}
}

func checkGroups(t failer, p *Ladder, groups []group) {
	if len(groups) != len(p.Rungs)+1 {
		t.Fatalf("%d groups of burns for %d rungs and the labels", len(groups), len(p.Rungs))
	}
	tol := p.tolerance()
	labels, rungs := groups[0], groups[1:]
	var want []stroke.Polyline
	for _, l := range p.Labels {
		want = append(want, stroke.Text(l.Text, l.CapMM, l.X, l.Y)...)
	}
	sameStrokes(t, "labels", labels.segments, want, tol)
	if math.Abs(labels.offset) > zHalf(p) {
		t.Errorf("labels burned at %g mm", labels.offset)
	}
	boxes := make([]box, 0, len(groups))
	for _, l := range p.Labels {
		boxes = append(boxes, boxOf(stroke.Text(l.Text, l.CapMM, l.X, l.Y)))
	}
	for i, g := range rungs {
		r := p.Rungs[i]
		if r.No != i+1 {
			t.Errorf("rung %d is burned in place %d", r.No, i+1)
		}
		if p.opt.byHand() {
			wantPauses := 0
			if i == 0 || p.columnOf(i) != p.columnOf(i-1) {
				wantPauses = 1
			}
			if g.pauses != wantPauses {
				t.Errorf("rung %d: %d pauses, want %d", r.No, g.pauses, wantPauses)
			}
			// Up before the travel, down after it.
			if rise := i == 0 || r.OffsetMM >= p.Rungs[i-1].OffsetMM; wantPauses > 0 && (g.wayPauses == 1) != rise {
				t.Errorf("rung %d: the pause comes %d before the travel", r.No, g.wayPauses)
			}
		} else {
			if math.Abs(g.offset-r.OffsetMM) > zHalf(p) {
				t.Errorf("rung %d burns at %g mm, says %g", r.No, g.offset, r.OffsetMM)
			}
			if !g.onWay || g.way < max(groups[i].offset, g.offset)-1e-9 {
				t.Errorf("rung %d: the head goes there at %g mm, from %g to %g", r.No, g.way, groups[i].offset, g.offset)
			}
			if g.lastZ > 0 && p.inRange(r.OffsetMM+p.takeUp(r.OffsetMM)) && p.takeUp(r.OffsetMM) > 0 {
				t.Errorf("rung %d is come to from below", r.No)
			}
		}
		for _, s := range g.segments {
			if want := r.PowerPct / 100 * p.opt.Machine.SMax; math.Abs(s.power-want) > 0.5e-4+1e-9 {
				t.Errorf("rung %d burns at power %g, want %g", r.No, s.power, want)
				break
			}
		}
		// The same figure by translation, to the last digit written.
		if len(g.segments) != len(rungs[0].segments) {
			t.Fatalf("rung %d has %d burns, the first %d", r.No, len(g.segments), len(rungs[0].segments))
		}
		dx, dy := g.segments[0].x0-rungs[0].segments[0].x0, g.segments[0].y0-rungs[0].segments[0].y0
		for k, s := range g.segments {
			f := rungs[0].segments[k]
			for _, d := range []float64{s.x0 - f.x0 - dx, s.x1 - f.x1 - dx, s.y0 - f.y0 - dy, s.y1 - f.y1 - dy} {
				if math.Abs(d) > 1e-9 {
					t.Fatalf("rung %d, burn %d is off the first's by %g mm", r.No, k+1, d)
				}
			}
		}
		var lines []stroke.Polyline
		for _, s := range g.segments {
			lines = append(lines, stroke.Polyline{{X: s.x0, Y: s.y0}, {X: s.x1, Y: s.y1}})
		}
		boxes = append(boxes, boxOf(lines))
	}
	const leastRoom = 0.5 // mm between figures and labels: several lines
	for i, a := range boxes {
		if a.x0 < -1e-9 || a.y0 < -1e-9 || a.x1 > p.Width+1e-9 || a.y1 > p.Height+1e-9 {
			t.Errorf("box %d, %+v, lies outside the block of %g x %g mm", i, a, p.Width, p.Height)
		}
		for j, b := range boxes[:i] {
			if a.x0 < b.x1+leastRoom && b.x0 < a.x1+leastRoom && a.y0 < b.y1+leastRoom && b.y0 < a.y1+leastRoom {
				t.Errorf("boxes %d and %d, %+v and %+v, are too close", j, i, b, a)
			}
		}
	}
}

// TestEveryRungIsLabelled wants over each figure its offset, and in each row of
// a table its power.
func TestEveryRungIsLabelled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := New(drawOptions(t))
		if err != nil {
			return
		}
		for _, r := range p.Rungs {
			over, beside := Label{Y: math.Inf(1)}, Label{X: math.Inf(-1)}
			for _, l := range p.Labels[1:] {
				centre := l.X + stroke.Width(l.Text, l.CapMM)/2
				if near(centre, r.X+figureWidth/2, 0.01) && l.Y > r.Y && l.Y < over.Y {
					over = l
				}
				if l.Y > r.Y && l.Y < r.Y+figureHeight && l.X < r.X {
					beside = l
				}
			}
			if over.Text != p.offsetText(r.OffsetMM) {
				t.Errorf("rung %d at %g mm is labelled %q", r.No, r.OffsetMM, over.Text)
			}
			if len(p.opt.PowersPct) > 1 && beside.Text != powerText(r.PowerPct) {
				t.Errorf("rung %d at %g percent is labelled %q", r.No, r.PowerPct, beside.Text)
			}
		}
	})
}

// box is the extent of strokes in mm.
type box struct{ x0, y0, x1, y1 float64 }

func boxOf(lines []stroke.Polyline) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, l := range lines {
		for _, q := range l {
			b.x0, b.y0, b.x1, b.y1 = min(b.x0, q.X), min(b.y0, q.Y), max(b.x1, q.X), max(b.y1, q.Y)
		}
	}
	return b
}

// sameStrokes wants the burns to be the strokes, in their order. Segments that
// rounding has taken away may be missing.
func sameStrokes(t failer, what string, got []segment, want []stroke.Polyline, tol float64) {
	k := 0
	for _, l := range want {
		for i := 1; i < len(l); i++ {
			a, b := l[i-1], l[i]
			if k < len(got) {
				s := got[k]
				if near(s.x0, a.X, tol) && near(s.y0, a.Y, tol) && near(s.x1, b.X, tol) && near(s.y1, b.Y, tol) {
					k++
					continue
				}
			}
			if math.Hypot(b.X-a.X, b.Y-a.Y) > 2*tol {
				t.Fatalf("%s: from %v to %v is not burned; next is %+v", what, a, b, got[min(k, len(got)-1)])
			}
		}
	}
	if k != len(got) {
		t.Fatalf("%s: %d burns more than strokes", what, len(got)-k)
	}
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

func TestFigureIsBurnedAsDrawn(t *testing.T) {
	p, text := mustPlan(t, plain())
	groups, _ := readBack(t, p, text)
	for i, r := range p.Rungs {
		var want []stroke.Polyline
		for _, l := range figure() {
			var moved stroke.Polyline
			for _, q := range l {
				moved = append(moved, stroke.Point{X: q.X + r.X, Y: q.Y + r.Y})
			}
			want = append(want, moved)
		}
		sameStrokes(t, "rung", groups[i+1].segments, want, p.tolerance())
	}
}

// The figure has what it is judged by: pairs both ways, a patch without bare
// stock in it, a cross, and digits near half a millimetre.
func TestFigureHasItsParts(t *testing.T) {
	lines := figure()
	for _, d := range PairsMM() {
		for _, lying := range []bool{false, true} {
			found := false
			for i := 1; i < len(lines); i++ {
				a, b := boxOf(lines[i-1:i]), boxOf(lines[i:i+1])
				if lying {
					a, b = box{a.y0, a.x0, a.y1, a.x1}, box{b.y0, b.x0, b.y1, b.x1}
				}
				upright := a.x0 == a.x1 && b.x0 == b.x1
				found = found || upright && near(b.x0-a.x0, d, 1e-9) && near(a.y1-a.y0, partMM, 1e-9)
			}
			if !found {
				t.Errorf("no pair %g mm apart, lying %v", d, lying)
			}
		}
	}
	text := stroke.Text(digits, digitMM, 0, 0)
	if b := boxOf(text); b.y1-b.y0 < 0.45 || b.y1-b.y0 > 0.7 {
		t.Errorf("digits are %g mm high", b.y1-b.y0)
	}
	for _, r := range digits {
		const line = 0.1
		if w := stroke.Width(string(r), digitMM) + line; w < 0.4 || w > 0.6 {
			t.Errorf("%c is %g mm wide with its line", r, w)
		}
	}
	hatched := patch(0, 0)
	if b := boxOf([]stroke.Polyline{hatched}); b.x1 != partMM || !near(b.y1, partMM, 1e-9) {
		t.Errorf("the patch is %+v", b)
	}
	for i := 2; i < len(hatched); i++ {
		if d := hatched[i].Y - hatched[i-2].Y; d > 0.1+1e-9 {
			t.Errorf("the patch leaves %g mm between its lines", d)
		}
	}
}

func TestBlockIsCompact(t *testing.T) {
	for _, powers := range [][]float64{{30}, {20, 30, 40}, {10, 20, 30, 40, 50, 60}} {
		for n := 1; n <= 16; n++ {
			o := plain()
			o.ReachMM, o.PowersPct = 0.5*float64(n), powers
			p, err := New(o)
			if err != nil {
				continue // too many rungs
			}
			rungs := float64(len(p.Rungs))
			if ratio := p.Width / p.Height; len(p.Rungs) > 5 && (ratio < 0.45 || ratio > 2.2) {
				t.Errorf("%d rungs in %g x %g mm", len(p.Rungs), p.Width, p.Height)
			}
			// Twice a figure with its label and its share of gaps, and the title.
			if most := rungs*2*40 + 2*p.Width*(titleMM+titleGapMM); p.Width*p.Height > most {
				t.Errorf("%d rungs take %g x %g mm", len(p.Rungs), p.Width, p.Height)
			}
		}
	}
}

func TestNearSideIsLeftOut(t *testing.T) {
	standoff, gap := 3.0, 1.5
	o := plain()
	o.StandoffMM, o.Machine.GapMinMM = &standoff, &gap
	p, _ := mustPlan(t, o)
	if !slices.Equal(p.ClippedMM, []float64{-2, -2.5}) || p.NearestMM != 1.5 || p.GapMM == nil || *p.GapMM != gap {
		t.Errorf("left out %v; nearest %g mm, gap %v mm", p.ClippedMM, p.NearestMM, p.GapMM)
	}
	standoff = 2.95
	if p, _ = mustPlan(t, o); !slices.Equal(p.ClippedMM, []float64{-1.5, -2, -2.5}) {
		t.Errorf("left out %v", p.ClippedMM)
	}
	// Where no gap is asked for, the head is at least not to touch.
	standoff, o.Machine.GapMinMM = 2.5, nil
	if p, _ = mustPlan(t, o); !slices.Equal(p.ClippedMM, []float64{-2.5}) {
		t.Errorf("left out %v", p.ClippedMM)
	}
	// With nothing nearer than best focus it still comes twice, from above.
	standoff, o.Machine.GapMinMM = 1.5, &gap
	p, text := mustPlan(t, o)
	if n := len(p.Offsets); n != 7 || p.Offsets[n-2] != 0 {
		t.Errorf("offsets %v", p.Offsets)
	}
	if groups, _ := readBack(t, p, text); groups[7].lastZ >= 0 {
		t.Errorf("the last Z move before best focus again is %g mm", groups[7].lastZ)
	}
}

// The lens goes past its place only as far as it may.
func TestNoRoomToGoPast(t *testing.T) {
	o := plain()
	top := 2.5
	o.Machine.ZMaxMM = &top
	p, text := mustPlan(t, o)
	readBack(t, p, text)
	if p.takeUp(2.5) != 0 || p.takeUp(0) != 0.5 {
		t.Errorf("goes past by %g and %g mm", p.takeUp(2.5), p.takeUp(0))
	}
}

func TestOutOfReach(t *testing.T) {
	o := plain()
	gap, standoff := 2.0, 1.0
	o.StandoffMM, o.Machine.GapMinMM = &standoff, &gap
	if _, err := New(o); !diag.Is(err, diag.Unmet) {
		t.Errorf("best focus nearer than the gap: %v", err)
	}
	o = plain()
	top := 2.0
	o.Machine.ZMaxMM = &top
	if _, err := New(o); !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), "+2.5 mm asks for a Z of 2.5 mm") {
		t.Errorf("beyond the range of Z: %v", err)
	}
	o.StartZMM = -10
	if _, err := New(o); err != nil {
		t.Errorf("with room above: %v", err)
	}
}

func TestBadWishes(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, change := range map[string]func(*Options){
		"step 0":        func(o *Options) { o.StepMM = 0 },
		"step below":    func(o *Options) { o.StepMM = -0.5 },
		"step nan":      func(o *Options) { o.StepMM = nan },
		"step inf":      func(o *Options) { o.StepMM = inf },
		"reach short":   func(o *Options) { o.ReachMM = 0.4 },
		"reach below":   func(o *Options) { o.ReachMM = -2 },
		"reach nan":     func(o *Options) { o.ReachMM = nan },
		"reach inf":     func(o *Options) { o.ReachMM = inf },
		"feed 0":        func(o *Options) { o.FeedMMMin = 0 },
		"feed nan":      func(o *Options) { o.FeedMMMin = nan },
		"feed limit":    func(o *Options) { o.Machine.FeedMaxMMMin = new(1000.0) },
		"no power":      func(o *Options) { o.PowersPct = nil },
		"power 0":       func(o *Options) { o.PowersPct = []float64{0} },
		"power nan":     func(o *Options) { o.PowersPct = []float64{nan} },
		"power 101":     func(o *Options) { o.PowersPct = []float64{30, 101} },
		"power twice":   func(o *Options) { o.PowersPct = []float64{30, 30} },
		"rungs":         func(o *Options) { o.StepMM, o.ReachMM = 0.02, 2 },
		"rungs, powers": func(o *Options) { o.ReachMM, o.PowersPct = 8, []float64{1, 2, 3, 4, 5, 6} },
	} {
		o := plain()
		change(&o)
		if _, err := New(o); !diag.Is(err, diag.Setting) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestStepsThatCanBeSet(t *testing.T) {
	for _, c := range []struct {
		change func(*record.Machine)
		want   float64 // 0: refused
	}{
		{func(*record.Machine) {}, 0.5},
		{func(m *record.Machine) { m.ZMoves, m.ZStepMM = record.ZByHand, new(0.04) }, 0.48},
		{func(m *record.Machine) { m.ZMoves, m.ZStepMM = record.ZByHand, new(0.05) }, 0.5},
		{func(m *record.Machine) { m.ZMoves, m.ZStepMM = record.ZByHand, new(6.0) }, 0},
		{func(m *record.Machine) { m.ZMoves, m.Decimals = record.ZByHand, new(0) }, 0.5}, // no Z is written
		{func(m *record.Machine) { m.ZStepMM = new(0.3) }, 0.5},                          // there is no crank to turn
		{func(m *record.Machine) { m.ZResolutionMM = new(0.3) }, 0.6},
		{func(m *record.Machine) { m.Decimals = new(1) }, 0.5},
		{func(m *record.Machine) { m.Units, m.Decimals = record.UnitsInch, new(2) }, 0.508},
		{func(m *record.Machine) { m.Units = record.UnitsInch }, 0.5},
	} {
		o := plain()
		c.change(o.Machine)
		p, err := New(o)
		if c.want == 0 {
			if !diag.Is(err, diag.Unmet) {
				t.Errorf("%+v: %v", o.Machine, err)
			}
			continue
		}
		if err != nil || !near(p.StepMM, c.want, 1e-9) {
			t.Errorf("%+v: %v, %v, want a step of %g", o.Machine, p, err, c.want)
		}
	}
}
