package advise_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/advise"
	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/rewrite"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// sheet is a surface over 0 to 100 each way.
func sheet(t testing.TB, f func(x, y float64) float64) *surface.Placed {
	t.Helper()
	var x []float64
	for v := -5.0; v <= 105; v += 5 {
		x = append(x, v)
	}
	return surfacetest.Of(t, "", x, x, f)
}

func lens(name string, near, far, detail float64) advise.Optic {
	d := focus.Depth{Near: near, Far: far}
	const half = 0.0005
	return advise.Optic{Name: name, Checking: d, Writing: focus.Depth{Near: near - half, Far: far - half}, DetailMM: detail}
}

func options(p *surface.Placed, lenses ...advise.Optic) advise.Options {
	c := machine.DefaultConfig()
	return advise.Options{
		Lenses: lenses,
		Follow: follow.Options{Options: rewrite.Options{Name: "test", Bench: bench.Bench{Machine: c, Slow: bench.SlowScaled, Slowest: 0.5, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}},
			Surface: p, Use: 0.5},
		Zone: zone.Options{Options: rewrite.Options{Name: "test", Bench: bench.Bench{Machine: c, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}}, Surface: p},
	}
}

// tester is a test or a drawn one.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

func run(t tester, text string, opt advise.Options) *advise.Advice {
	t.Helper()
	a, err := advise.Run(strings.NewReader(text), opt)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return a
}

// letters burns squares of a size all over the sheet.
func letters(size float64) string {
	var b strings.Builder
	b.WriteString("G21 G90\nM4 S0 F3000\n")
	for y := 5.0; y < 95; y += 15 {
		for x := 5.0; x < 95; x += 15 {
			fmt.Fprintf(&b, "G0 X%g Y%g S0\nG1 X%g S300\nY%g\nX%g\nY%g\n", x, y, x+size, y+size, x, y)
		}
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.String()
}

// TestBenchFacts asks what an operator knows: a 1.5 in lens is sharp within
// 1.5 mm either side and marks text from 4 pt on, a 2.5 in lens nearly 3 mm
// and from 5 to 6 pt (common practice, no source).
func TestBenchFacts(t *testing.T) {
	mm := func(pt float64) float64 {
		v, _, _ := record.CapHeightMM(pt, "liberation")
		return v
	}
	for _, far := range []float64{2.5, 3} {
		for _, coarse := range []float64{5, 6} {
			for _, c := range []struct {
				text, relief float64
				moves        bench.Moves
				want         advise.Verdict
				lens         string
			}{
				{4, 1, bench.Always, advise.Flat, "short"},
				{6, 1, bench.Always, advise.Flat, "short"},
				{4, 2.5, bench.Always, advise.Follow, "short"}, // the long one would lose the text
				{6, 2.5, bench.Always, advise.Flat, "long"},
				{4, 2.5, bench.ByHand, advise.Split, "short"},
				{6, 2.5, bench.ByHand, advise.Flat, "long"},
			} {
				p := sheet(t, func(x, y float64) float64 {
					return max(-c.relief, min(c.relief, 1.1*c.relief*math.Sin(x/15)*math.Cos(y/20)))
				})
				opt := options(p, lens("long", far, far, mm(coarse)), lens("short", 1.5, 1.5, mm(4)))
				opt.Detail = advise.Detail{MM: mm(c.text), From: "text"}
				opt.Follow.ZMoves, opt.Zone.ZMoves = c.moves, bench.Moves(c.moves)
				a := run(t, letters(mm(c.text)), opt)
				if a.Verdict != c.want || len(a.Lenses) != 1 || a.Answers[a.Lenses[0]].Name != c.lens {
					t.Errorf("%g pt, ±%g mm, long lens ±%g mm from %g pt: %s with lenses %v, want %s with %s",
						c.text, c.relief, far, coarse, a.Verdict, a.Lenses, c.want, c.lens)
				}
			}
		}
	}
}

// drawSheet draws a gentle or a bumpy sheet.
func drawSheet(t *rapid.T) *surface.Placed {
	scale := rapid.SampledFrom([]float64{0, 0.3, 1, 3, 3}).Draw(t, "scale")
	heights := rapid.SliceOfN(rapid.Float64Range(-1, 1), 9, 9).Draw(t, "heights")
	axis := []float64{0, 37, 60}
	z := make([]float64, 9)
	for i, h := range heights {
		z[i] = scale * h
	}
	s, err := surface.New(axis, axis, z)
	if err == nil && rapid.IntRange(0, 3).Draw(t, "doubt") == 3 {
		s, err = s.WithErrors(rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0, 0, 0.05, 0.3}), 9, 9).Draw(t, "errors"))
	}
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{Method: rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// drawJob draws lines and arcs, burned and not.
func drawJob(t *rapid.T) string {
	var b strings.Builder
	b.WriteString("G21 G90\nG0 X1 Y1\nM4 S200 F")
	fmt.Fprintf(&b, "%d\n", rapid.SampledFrom([]int{300, 2000, 9000}).Draw(t, "feed"))
	at := func(l string) float64 { return math.Round(rapid.Float64Range(0, 60).Draw(t, l)*100) / 100 }
	for range rapid.IntRange(1, 12).Draw(t, "moves") {
		x, y := at("x"), at("y")
		switch rapid.SampledFrom([]string{"burn", "burn", "dark", "rapid", "circle", "mark"}).Draw(t, "kind") {
		case "burn":
			fmt.Fprintf(&b, "G1 X%.2f Y%.2f S200\n", x, y)
		case "dark":
			fmt.Fprintf(&b, "G1 X%.2f Y%.2f S0\n", x, y)
		case "rapid":
			fmt.Fprintf(&b, "G0 X%.2f Y%.2f\n", x, y)
		case "circle":
			fmt.Fprintf(&b, "G0 X30 Y30\nG2 I%.2f J0 S200\n", x/5-14)
		case "mark":
			fmt.Fprintf(&b, "G1 X%.2f Y%.2f S0\nS200\nG4 P0.1\n", x, y)
		}
	}
	b.WriteString("S200\nG1 X2 Y2\nM5\nG0 X0 Y0\n")
	return b.String()
}

// drawRules draws rules by lines for a lens, and gives them as they are checked.
func drawRules(t *rapid.T, opt *advise.Options) (rules []verify.Rule) {
	l, kinds := &opt.Lenses[0], &stream.Kinds{Of: []int{0}}
	const half = 0.0005
	for n := rapid.IntRange(0, 2).Draw(t, "rules"); n > 0; n-- {
		from := rapid.IntRange(1, 20).Draw(t, "from")
		r := verify.Rule{Lines: [][2]int{{from, from + rapid.IntRange(0, 10).Draw(t, "lines")}},
			Depth:     focus.Depth{Near: rapid.SampledFrom([]float64{0.2, 0.5, 2}).Draw(t, "rule near"), Far: rapid.SampledFrom([]float64{0.2, 0.7, 2}).Draw(t, "rule far")},
			DefocusMM: rapid.SampledFrom([]float64{0, 0.2, -0.3, -1}).Draw(t, "rule defocus")}
		rules = append(rules, r)
		l.Ruled = append(l.Ruled, focus.Aim{Depth: r.Depth, Use: 0.5, Defocus: r.DefocusMM})
		l.Kinds = append(l.Kinds, focus.Aim{Depth: focus.Depth{Near: r.Depth.Near - half, Far: r.Depth.Far - half}, Use: 0.5, Defocus: r.DefocusMM})
		kinds.Of = append(kinds.Of, len(rules))
	}
	if rules == nil {
		return nil
	}
	kinds.Rule = func(line, _ int, _, _ float64) int {
		return 1 + slices.IndexFunc(rules, func(r verify.Rule) bool { return r.Lines[0][0] <= line && line <= r.Lines[0][1] })
	}
	l.Rules, opt.Follow.Rules = kinds, kinds
	return rules
}

// near1 is how close to a limit in mm bounds and rounding may tell otherwise.
const near1 = 2e-3

// lowered are rules for a program that runs flat with the focus at a height.
func lowered(rules []verify.Rule, by float64) []verify.Rule {
	rules = slices.Clone(rules)
	for k := range rules {
		rules[k].DefocusMM -= by
	}
	return rules
}

// ruled holds what is said of one focus where there are rules to the check.
func ruled(t *rapid.T, x *advise.Answer, check func(float64) *verify.Result, seen map[string]int, text string) {
	f := &x.Flat
	if f.OK && !check(f.Focus).Holds() {
		t.Fatalf("flat at %.4f: %v, but the check finds %v\n%s", f.Focus, f, check(f.Focus).Failures, text)
	}
	if f.OK || max(f.Over, f.Travel) > near1 {
		seen[fmt.Sprint("ruled ", f.OK)]++
		for _, d := range []float64{-0.3, -0.05, 0, 0.05, 0.3} {
			if !f.OK && check(f.Focus+d).Holds() {
				t.Fatalf("not flat at %.4f, but at %+.2f from there: %+v\n%s", f.Focus, d, f, text)
			}
		}
	}
	if f.AtDatum && !check(0).Holds() || f.OK && !f.AtDatum && check(-near1).Holds() && check(0).Holds() && check(near1).Holds() {
		t.Fatalf("at the datum %v, but the check finds otherwise\n%s", f.AtDatum, text)
	}
	if f.OK {
		seen[fmt.Sprint("ruled datum ", f.AtDatum)]++
	}
}

// TestAgreesWithVerifyAndFollow: what advise says runs flat, the independent
// check finds in focus with the program as it is, at that focus; what it says
// does not, it does not. What it says follows is followed, and else not.
func TestAgreesWithVerifyAndFollow(t *testing.T) {
	seen, jobs := map[string]int{}, 0
	one := func(t *rapid.T) {
		jobs++
		p, text := drawSheet(t), drawJob(t)
		l := lens("one", rapid.SampledFrom([]float64{0.2, 0.5, 2}).Draw(t, "near"), rapid.SampledFrom([]float64{0.2, 0.7, 2}).Draw(t, "far"), 0)
		less := func(errorMM float64) float64 { return errorMM - p.Surface().Header().ErrorMM }
		opt := options(p.Narrowed(less), l)
		l.Defocus = rapid.SampledFrom([]float64{0, 0, 0.4, -1}).Draw(t, "defocus")
		opt.Lenses[0].Defocus = l.Defocus
		rules := drawRules(t, &opt)
		opt.Follow.ZRate = rapid.SampledFrom([]float64{0, 0.2, 5}).Draw(t, "rate")
		opt.Follow.ZMoves = rapid.SampledFrom([]bench.Moves{bench.Always, bench.Always, bench.BeamOff}).Draw(t, "moves")
		a := run(t, text, opt)
		x := &a.Answers[0]

		check := func(focusAt float64) *verify.Result {
			res, err := verify.Run(strings.NewReader(text), "test", nil, "", verify.Options{
				Bench: bench.Bench{Machine: opt.Follow.Machine, ZPlusAway: true, Slowest: 0.5, DecimalsMM: 3, DecimalsInch: 5}, Surface: p, Depth: l.Checking, Less: less, DefocusMM: l.Defocus - focusAt,
				Rules: lowered(rules, focusAt),
			})
			if err != nil {
				t.Fatal(err)
			}
			return res
		}
		if rules != nil {
			ruled(t, x, check, seen, text)
		} else if slack := math.Abs(a.Job.Highest - a.Job.Lowest - l.Checking.Near - l.Checking.Far); slack > near1 && (x.Flat.Travel == 0 || x.Flat.Travel > near1) && x.Flat.Entry == 0 {
			if got := check(x.Flat.Focus); got.Holds() != x.Flat.OK {
				t.Fatalf("flat at %.4f: %v, but the check finds %v\n%s", x.Flat.Focus, x.Flat, got.Failures, text)
			}
			seen[fmt.Sprint("flat ", x.Flat.OK)]++
			if !x.Flat.OK { // nor at any other focus
				for _, d := range []float64{-0.3, -0.05, 0.05, 0.3} {
					if check(x.Flat.Focus + d).Holds() {
						t.Fatalf("not flat at %.4f, but at %+.2f from there\n%s", x.Flat.Focus, d, text)
					}
				}
			}
		}
		d := l.Defocus
		room := []float64{l.Checking.Near - a.Job.Highest - d, l.Checking.Near - a.Job.Travel.MM - d, l.Checking.Far + a.Job.Lowest + d}
		if rules == nil && math.Abs(slices.Min(room)) > near1 && x.Flat.OK {
			if check(0).Holds() != x.Flat.AtDatum {
				t.Fatalf("at the datum %v, but the check finds otherwise; room %v\n%s", x.Flat.AtDatum, room, text)
			}
			seen[fmt.Sprint("datum ", x.Flat.AtDatum)]++
		}
		if (a.Verdict == advise.Flat) != x.Flat.OK {
			t.Fatalf("verdict %s, flat %v", a.Verdict, x.Flat.OK)
		}
		for _, y := range []struct {
			moves bench.Moves
			f     *advise.FollowAnswer
		}{{opt.Follow.ZMoves, x.Follow}, {bench.BeamOff, x.BeamOff}} {
			if y.f == nil {
				continue
			}
			fo := opt.Follow
			fo.Depth, fo.Defocus, fo.ZMoves = l.Writing, l.Defocus, y.moves
			fo.Rules, fo.Kinds = opt.Lenses[0].Rules, opt.Lenses[0].Kinds
			_, err := follow.Run(strings.NewReader(text), io.Discard, fo)
			if (err == nil) != y.f.OK {
				t.Fatalf("follows %v, but %v\n%s", y.f.OK, err, text)
			}
			seen[fmt.Sprint("follow ", y.f.OK)]++
			if y.f.Enough > 0 { // it is enough, without slowing
				fo.ZRate, fo.Slow = y.f.Enough/60, bench.SlowNever
				if _, err := follow.Run(strings.NewReader(text), io.Discard, fo); err != nil {
					t.Fatalf("a rate of %g mm/min is not enough: %v\n%s", y.f.Enough, err, text)
				}
				seen["enough"]++
			}
		}
		if rules == nil && x.Flat.OK != (x.Zones == 1) && x.NoZones == "" && math.Abs(a.Job.Highest-a.Job.Lowest-l.Checking.Near-l.Checking.Far) > near1 && x.Flat.Travel == 0 && x.Flat.Entry == 0 {
			t.Fatalf("flat %v, with %d zones\n%s", x.Flat.OK, x.Zones, text)
		}
	}
	// A run of the checker draws from small jobs to large; several runs
	// reach the rare ones.
	for run := range 4 {
		rapid.Check(t, func(t *rapid.T) {
			for range run { // also from a given seed each run draws its own
				rapid.Uint64().Draw(t, "run")
			}
			one(t)
		})
	}
	t.Log(seen)
	for _, k := range []string{"ruled true", "ruled false", "ruled datum true", "ruled datum false", "flat true", "flat false", "datum true", "datum false", "follow true", "follow false", "enough"} {
		if seen[k] == 0 && jobs >= meetsAll {
			t.Errorf("never met: %s (%v)", k, seen)
		}
	}
}

// meetsAll jobs are enough to meet what is rare.
const meetsAll = 300

// TestMoreDepthIsNoWorse: a deeper lens runs flat what a shallower one does,
// follows what it follows, and needs no more zones.
func TestMoreDepthIsNoWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, text := drawSheet(t), drawJob(t)
		near := rapid.Float64Range(0.1, 1.5).Draw(t, "near")
		far := rapid.Float64Range(0.1, 1.5).Draw(t, "far")
		more := rapid.Float64Range(0, 1).Draw(t, "more")
		opt := options(p, lens("a", near, far, 0), lens("b", near+more, far+more, 0))
		opt.Follow.ZRate = rapid.SampledFrom([]float64{0, 0.2, 5}).Draw(t, "rate")
		a := run(t, text, opt)
		x, y := &a.Answers[0], &a.Answers[1]
		switch {
		case x.Flat.OK && !y.Flat.OK:
			t.Fatalf("flat with less depth alone\n%s", text)
		case x.Follow != nil && x.Follow.OK && y.Follow != nil && !y.Follow.OK && y.Follow.Kind != follow.NoRoom:
			t.Fatalf("follows with less depth alone: %s\n%s", y.Follow.Why, text)
		case x.NoZones == "" && y.Zones > x.Zones:
			t.Fatalf("%d zones with more depth, %d with less\n%s", y.Zones, x.Zones, text)
		case x.Flat.Part < y.Flat.Part-1e-9:
			t.Fatalf("%g of more depth spent, %g of less", y.Flat.Part, x.Flat.Part)
		}
	})
}

// TestFlatFocus: the best focus is the middle of the heights that burns see,
// not of the sheet, and spends both sides alike.
func TestFlatFocus(t *testing.T) {
	p := sheet(t, func(x, _ float64) float64 { return x / 10 }) // 0 to 10 mm over the sheet
	text := "G21 G90\nG0 X20 Y20\nM4 S200 F1000\nG1 X40\nM5\nG0 X5\n"
	a := run(t, text, options(p, lens("even", 1.5, 1.5, 0), lens("uneven", 1, 3, 0)))
	if f := a.Answers[0].Flat; !f.OK || math.Abs(f.Focus-3) > 1e-3 || math.Abs(f.Part-2.0/3) > 1e-3 || f.AtDatum {
		t.Errorf("even: %+v", f)
	}
	// 2 to 4 mm: 1 to 3 parts of the depth, the higher side being the nearer.
	if f := a.Answers[1].Flat; !f.OK || math.Abs(f.Focus-3.5) > 1e-3 || math.Abs(f.Part-0.5) > 1e-3 {
		t.Errorf("uneven: %+v", f)
	}
	if h := a.Point; math.Abs(h.Height-3) > 0.006 {
		t.Errorf("focus point %+v", h)
	}
	// The point is clear of what is marked where there is room, and downhill
	// is as good as uphill.
	text = "G21 G90\nG0 X40 Y20\nM4 S200 F1000\nG1 X20\nG1 Y80\nG1 X40\nM5\nG0 X5\n"
	a = run(t, text, options(p, lens("even", 1.5, 1.5, 0)))
	if f := a.Answers[0].Flat; !f.OK || math.Abs(f.Focus-3) > 1e-3 {
		t.Errorf("downhill: %+v", f)
	}
	if h := a.Point; math.Abs(h.Height-3) > 0.006 || min(math.Abs(h.Y-20), math.Abs(h.Y-80)) < setup.ClearOfMarks {
		t.Errorf("focus point %+v among marks", h)
	}
	// Nor is it under a clamp, or beside one by less than the head is wide.
	clamped := options(p, lens("even", 1.5, 1.5, 0))
	clamped.Zone.Head = &bench.Head{Radius: 3, Standoff: 9, Gap: 1, Boxes: []surface.Box{{X0: -10, Y0: 25, X1: 200, Y1: 60, Height: 5}}}
	if h := run(t, text, clamped).Point; h.Y > 22 && h.Y < 63 {
		t.Errorf("focus point %+v under a clamp", h)
	}
	text = "G21 G90\nG0 X40 Y20\nM4 S200 F1000\nG1 X20\nM5\nG0 X5\n"
	if a = run(t, text, options(p, lens("even", 1.5, 1.5, 0))); math.Abs(a.Job.Low.MM-2) > 1e-3 || a.Job.Low.X != 20 {
		t.Errorf("lowest %+v", a.Job.Low)
	}
	// A travel over the hill is in the way, and raises the focus.
	text = "G21 G90\nG0 X20 Y20\nM4 S200 F1000\nG1 X40\nM5\nG0 X50\n"
	a = run(t, text, options(p, lens("even", 1.5, 1.5, 0)))
	if f := a.Answers[0].Flat; !f.OK || math.Abs(f.Focus-3.5) > 1e-3 || math.Abs(f.Part-1) > 1e-3 {
		t.Errorf("with a travel: %+v", f)
	}
	text = "G21 G90\nG0 X20 Y20\nM4 S200 F1000\nG1 X40\nM5\nG0 X52\n"
	a = run(t, text, options(p, lens("even", 1.5, 1.5, 0)))
	if f := a.Answers[0].Flat; f.OK || math.Abs(f.Travel-0.2) > 1e-3 {
		t.Errorf("with a travel too high: %+v", f)
	}
}

// TestCheapAnswers: each cheap answer, carried out, does what it says.
func TestCheapAnswers(t *testing.T) {
	bow := func(scale float64) *surface.Placed {
		return sheet(t, func(x, _ float64) float64 { return scale * (1 - (x-50)*(x-50)/2500) })
	}
	raster := func(axis string) string {
		other := map[string]string{"X": "Y", "Y": "X"}[axis]
		var b strings.Builder
		fmt.Fprintf(&b, "G21 G90\nG0 X10 Y10\nM3 S0 F6000\n")
		for i := range 160 {
			to := 90 - 80*(i%2)
			fmt.Fprintf(&b, "G1 %s%d S300\nG1 %s%.1f S0\n", axis, to, other, 10.5+float64(i)*0.5)
		}
		return b.String() + "M5\n"
	}
	find := func(a *advise.Advice, kind string) *advise.Cheap {
		for i := range a.Cheap {
			if a.Cheap[i].Kind == kind {
				return &a.Cheap[i]
			}
		}
		return nil
	}
	opt := options(bow(6), lens("one", 1, 1, 0))
	opt.Follow.ZRate = 0.5
	a := run(t, raster("X"), opt)
	if a.Verdict != advise.Split || find(a, "focus") != nil {
		t.Errorf("verdict %s, %v", a.Verdict, a.Cheap)
	}
	press := find(a, "press")
	if press == nil || math.Abs(press.Value-2) > 0.011 {
		t.Fatalf("press: %v", press)
	}
	opt.Follow.Surface = bow(6 * press.Value / a.Job.Range())
	opt.Zone.Surface = opt.Follow.Surface
	if b := run(t, raster("X"), opt); b.Verdict != advise.Flat || find(b, "focus") == nil {
		t.Errorf("pressed down: %s, %v", b.Verdict, b.Cheap)
	}
	opt.Follow.Surface, opt.Zone.Surface = bow(6), bow(6)
	if find(a, "rows") == nil {
		t.Fatalf("rows: %v", a.Cheap)
	}
	if b := run(t, raster("Y"), opt); b.Verdict != advise.Follow || find(b, "rows") != nil {
		t.Errorf("rows along Y: %s, %v", b.Verdict, b.Cheap)
	}
	rate := find(a, "rate")
	if rate == nil {
		t.Fatalf("rate: %v", a.Cheap)
	}
	opt.Follow.ZRate = rate.Value / 60
	if b := run(t, raster("X"), opt); b.Verdict != advise.Follow || b.Answers[0].Follow.Slowed > 0 {
		t.Errorf("at %g mm/min: %s", rate.Value, b.Verdict)
	}
	opt.Follow.ZRate = rate.Value / 60 * 0.8 // and it is not too much
	if b := run(t, raster("X"), opt); b.Verdict == advise.Follow {
		t.Errorf("at four fifths of %g mm/min: %s", rate.Value, b.Verdict)
	}
	opt.Follow.ZMoves = bench.BeamOff
	if b := run(t, raster("X"), opt); find(b, "rows") == nil {
		t.Errorf("beam off, rows: %v", b.Cheap)
	}
	if b := run(t, raster("Y"), opt); b.Verdict != advise.Follow {
		t.Errorf("beam off, rows along Y: %s", b.Verdict)
	}
}

// TestRowsAlike: where both axes bend alike, other rows are no help.
func TestRowsAlike(t *testing.T) {
	dome := sheet(t, func(x, y float64) float64 { return 5 - ((x-50)*(x-50)+(y-50)*(y-50))/500 })
	text := "G21 G90\nG0 X10 Y10\nM3 S0 F6000\n"
	for i := range 160 {
		text += fmt.Sprintf("G1 X%d S300\nG1 Y%.1f S0\n", 90-80*(i%2), 10.5+float64(i)*0.5)
	}
	for _, moves := range []bench.Moves{bench.Always, bench.BeamOff} {
		opt := options(dome, lens("one", 0.5, 0.5, 0))
		opt.Follow.ZRate, opt.Follow.ZMoves = 0.5, moves
		a := run(t, text+"M5\n", opt)
		if a.Verdict != advise.Split || slices.ContainsFunc(a.Cheap, func(c advise.Cheap) bool { return c.Kind == "rows" }) {
			t.Errorf("%s, %v", a.Verdict, a.Cheap)
		}
	}
}

// TestChoice: of two lenses that can, the finer, the one that need not slow
// burns, the one with fewer zones.
func TestChoice(t *testing.T) {
	p := sheet(t, func(x, _ float64) float64 { return 2 * math.Sin(x/8) })
	text := "G21 G90\nG0 X5 Y10\nM4 S9 F6000\nG1 X95\nM5\nG0 X5\n"
	for _, c := range []struct {
		name         string
		first, other float64 // depth
		rate         float64
		moves        bench.Moves
		want         advise.Verdict
		slowed       bool // of the lens not taken
	}{
		{"flat: the finer", 3, 4, 0, bench.Always, advise.Flat, false},
		{"flat before following", 2.5, 1, 0, bench.Always, advise.Flat, false},
		{"follow: the finer", 0.5, 1, 0, bench.Always, advise.Follow, false},
		{"follow: not slowed before finer", 1.5, 1, 7, bench.Always, advise.Follow, true},
		{"split: fewer zones", 1.5, 0.5, 0, bench.ByHand, advise.Split, false},
	} {
		opt := options(p, lens("other", c.other, c.other, 0), lens("first", c.first, c.first, 0))
		opt.Follow.ZRate, opt.Follow.ZMoves, opt.Zone.ZMoves = c.rate, c.moves, bench.Moves(c.moves)
		a := run(t, text, opt)
		if a.Verdict != c.want || len(a.Lenses) != 1 || a.Lenses[0] != 1 {
			t.Errorf("%s: %s with %v", c.name, a.Verdict, a.Lenses)
		}
		if f := a.Answers[0].Follow; c.slowed && (f == nil || !f.OK || f.Slowed == 0) {
			t.Errorf("%s: %+v", c.name, f)
		}
		if c.want == advise.Split && (a.Zones != 2 || a.Together < a.Zones) {
			t.Errorf("%s: %d zones, %d together", c.name, a.Zones, a.Together)
		}
	}
}

// TestGuess: the smallest detail shows in the program.
func TestGuess(t *testing.T) {
	p := sheet(t, func(_, _ float64) float64 { return 0 })
	rows := "G21 G90\nG0 X10 Y10\nM4 S0 F6000\n"
	for i := range 30 {
		rows += fmt.Sprintf("G1 X%d S300\nG1 Y%.2f S0\n", 90-80*(i%2), 10.08+float64(i)*0.08)
	}
	dotted := letters(2) + "G0 X50 Y50\nM4 S200\nG2 I0.05 J0\nM5\n" // one dot among 36 letters
	for _, c := range []struct {
		name, text string
		want       float64
	}{
		{"letters", letters(2), 2}, {"dot", dotted, 2}, {"rows", rows + "M5\n", 0.4},
		{"both", rows + letters(0.3), 0.3}, {"lines", "G21 G90\nG0 X10 Y10\nM4 S9 F600\nG1 X90\nM5\n", 0},
	} {
		a := run(t, c.text, options(p, lens("one", 1, 1, 50)))
		if math.Abs(a.Detail.MM-c.want) > 0.02*c.want || a.Detail.Guessed != (c.want > 0) {
			t.Errorf("%s: guessed %+v, want %g", c.name, a.Detail, c.want)
		}
		if a.Verdict != advise.Flat || (a.Answers[0].Doubt == "") != (c.want == 0) {
			t.Errorf("%s: a guess refuses nothing, but casts doubt: %s, %q", c.name, a.Verdict, a.Answers[0].Doubt)
		}
	}
}

// TestSteep: the steepest beam under burns, against the closed form.
func TestSteep(t *testing.T) {
	slope := math.Tan(20 * math.Pi / 180)
	p := sheet(t, func(x, _ float64) float64 { return slope * max(0, x-50) })
	a := run(t, "G21 G90\nG0 X10 Y10\nM4 S9 F600\nG1 X90\nM5\n", options(p, lens("one", 1, 1, 0)))
	if math.Abs(a.Job.Degrees-20) > 0.01 || math.Abs(a.Job.SteepLength-40) > 5.01 || math.Abs(advise.Stretch(20)-1.0642) > 1e-4 {
		t.Errorf("%g degrees over %g mm", a.Job.Degrees, a.Job.SteepLength)
	}
	if a := run(t, "G21 G90\nG0 X10 Y10\nM4 S9 F600\nG1 X45\nM5\nG0 X90\n", options(p, lens("one", 1, 1, 0))); a.Job.Degrees >= advise.SteepDegrees {
		t.Errorf("%g degrees where only a travel is steep", a.Job.Degrees)
	}
}

// TestRefused: what no lens can help is told as follow tells it.
func TestRefused(t *testing.T) {
	p := sheet(t, func(_, _ float64) float64 { return 0 })
	for _, c := range []struct{ text, want string }{
		{"G21 G90\nG0 X10 Y10\nM4 S9 F600\nG1 X900\nM5\n", "test:4: a burn leaves the surface at X105.000 Y10.000"},
		{"G21 G90\nG0 X10 Y10\n", "test: nothing burns in this program"},
	} {
		_, err := advise.Run(strings.NewReader(c.text), options(p, lens("one", 1, 1, 0)))
		unmet := (*follow.UnmetError)(nil)
		if !errors.As(err, &unmet) || err.Error() != c.want {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}

// TestNone: when no lens does it, the answer says by how much.
func TestNone(t *testing.T) {
	p := sheet(t, func(x, _ float64) float64 { return x / 10 })
	opt := options(p, lens("coarse", 1, 1, 1.4), lens("thin", 0.001, 0.001, 0.1))
	opt.Detail = advise.Detail{MM: 1, From: "given"}
	opt.Follow.ZRate = 0.01
	a := run(t, "G21 G90\nG0 X5 Y10\nM3 S9 F6000\nG1 X95\nM5\n", opt)
	if a.Verdict != advise.None || !strings.Contains(a.Reason, "0.4 mm smaller than the 1.4 mm it marks") || !strings.Contains(a.Reason, "more than 1000") {
		t.Errorf("%s: %s", a.Verdict, a.Reason)
	}
}

// TestExtremesAreOnTheirLines: the heights told are on the burns of the lines told, in
// short strokes that are read as one and in long ones.
func TestExtremesAreOnTheirLines(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		fx, fy, px := rapid.Float64Range(0.01, 0.2).Draw(rt, "fx"), rapid.Float64Range(0.01, 0.2).Draw(rt, "fy"), rapid.Float64Range(0, 6).Draw(rt, "px")
		p := sheet(t, func(x, y float64) float64 { return math.Sin(fx*x+px) + math.Cos(fy*y) })
		text, ways, line := "G21 G90\nM4 S0 F3000\n", map[int][3]float64{}, 2
		for y := 3.0; y < 100; y += rapid.Float64Range(1, 30).Draw(rt, "apart") {
			text, line = text+fmt.Sprintf("G0 X5 Y%.3f\n", y), line+1
			for x, step := 5.0, rapid.SampledFrom([]float64{0.7, 9, 45}).Draw(rt, "step"); x+step < 100; x += step {
				text, line = text+fmt.Sprintf("G1 X%.3f S300\n", x+step), line+1
				ways[line] = [3]float64{x, x + step, y}
			}
		}
		j := run(rt, text, options(p, lens("one", 9, 9, 0))).Job
		for _, e := range []struct {
			name string
			at   focus.Extreme
			sign float64
		}{{"lowest", j.Low, -1}, {"highest", j.High, 1}} {
			w, ok := ways[e.at.Line]
			if !ok {
				rt.Fatalf("%s on line %d, which burns nothing\n%s", e.name, e.at.Line, text)
			}
			most := math.Inf(-1)
			for k := 0.0; k <= 200; k++ {
				h, _ := p.At(w[0]+(w[1]-w[0])*k/200, w[2])
				most = max(most, e.sign*h)
			}
			at, _ := p.At(e.at.X, e.at.Y)
			if math.Abs(at-e.at.MM) > 0.02 || math.Abs(e.at.Y-w[2]) > 1e-3 || e.at.X < w[0]-1e-3 || e.at.X > w[1]+1e-3 {
				rt.Fatalf("%s: %.4f at X%g Y%g on line %d, where it is %.4f\n%s", e.name, e.at.MM, e.at.X, e.at.Y, e.at.Line, at, text)
			}
			if math.Abs(most-e.sign*e.at.MM) > 0.02 { // the bounds are coarse
				rt.Fatalf("%s: %.4f on line %d, where it is %.4f\n%s", e.name, e.at.MM, e.at.Line, e.sign*most, text)
			}
		}
	})
}

// TestDoubtComesLast: a lens in doubt is not advised where another can do it in any way,
// and is where none can.
func TestDoubtComesLast(t *testing.T) {
	p := sheet(t, func(x, _ float64) float64 { return 2 * math.Sin(x/8) })
	deep, fine := lens("deep", 9, 9, 50), lens("fine", 0.5, 0.5, 0.1)
	for _, c := range []struct {
		name  string
		moves bench.Moves
		fine  float64
		want  advise.Verdict
		with  int
	}{
		{"follow before it", bench.Always, 0.5, advise.Follow, 1},
		{"split before it", bench.ByHand, 0.5, advise.Split, 1},
		{"where nothing else does it", bench.ByHand, 1e-4, advise.Flat, 0},
	} {
		fine.Checking.Near, fine.Checking.Far = c.fine, c.fine
		fine.Writing = fine.Checking
		opt := options(p, deep, fine)
		opt.Follow.ZMoves, opt.Zone.ZMoves = c.moves, c.moves
		a := run(t, letters(2), opt)
		if a.Verdict != c.want || len(a.Lenses) != 1 || a.Lenses[0] != c.with || a.Answers[0].Doubt == "" || a.Answers[1].Doubt != "" {
			t.Errorf("%s: %s with %v: %s", c.name, a.Verdict, a.Lenses, a.Reason)
		}
	}
}
