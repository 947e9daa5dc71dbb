package advise

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/zone"
)

// adviser answers for lenses.
type adviser struct {
	program zone.Source
	opt     *Options
	a       *Advice
}

// sameDetail is by which part a detail may be below the one that a lens is
// known to mark and count as the same: neither is known better.
const sameDetail = 0.01

// lens answers for one lens.
func (g *adviser) lens(l Optic) (x Answer, err error) {
	x.Optic = l
	why := ""
	if x.Out == "" {
		why = l.misses(&g.a.Detail)
	}
	if g.a.Detail.Guessed {
		x.Doubt = why
	} else {
		x.Out = cmp.Or(x.Out, why)
	}
	if x.Out != "" {
		return x, nil
	}
	x.Flat = flat(g.a.Job, &l, g.opt)
	if x.Flat.OK {
		x.Zones = 1
		return x, nil
	}
	if moves := g.opt.Follow.ZMoves; moves != bench.ByHand {
		if x.Follow, err = g.follow(&l, moves); err != nil {
			return x, err
		}
		x.BeamOff = x.Follow
		if moves == bench.Always {
			if x.BeamOff, err = g.follow(&l, bench.BeamOff); err != nil {
				return x, err
			}
		}
	}
	x.Zones, x.NoZones, err = g.zones(&l)
	return x, err
}

// misses says why the lens does not mark the detail; empty where it does, or
// nothing is known against it.
func (l *Optic) misses(d *Detail) string {
	if d.MM == 0 {
		return ""
	}
	if short := l.DetailMM - d.MM; l.DetailMM > 0 && short > sameDetail*l.DetailMM {
		return fmt.Sprintf("the detail of %.3g mm is %.2g mm smaller than the %.3g mm it marks", d.MM, short, l.DetailMM)
	}
	if l.TooSmall == nil {
		return ""
	}
	return l.TooSmall(d.MM)
}

// heightRounding in mm is what float64 loses in a few operations on heights.
const heightRounding = 1e-9

// flat finds the focus at which each side of the depth is spent alike: with F
// the focus over the datum and D the wanted defocus a burn over the height h
// is F - D - h off, which may be from -near to +far. Where rules ask for more than one
// D and depth it is the focus that spends the least part of any of them at most.
func flat(j *Metrics, l *Optic, opt *Options) (x FlatAnswer) {
	serves := l.serves(j)
	x.Focus, x.Over = serves.best(), max(0, serves.least-serves.most)
	clear := j.Travel.MM + l.lead()
	if l.Head != nil {
		clear = max(clear, j.asked+j.firstZ-l.Head.Standoff)
	}
	if clear > x.Focus {
		most := max(x.Focus, serves.most)
		x.Focus, x.Travel = min(clear, most), max(0, clear-most)
	}
	most := max(x.Focus, serves.most)
	settle := func(f float64) {
		x.Focus = f
		for _, step := range [2]float64{1e-3, opt.Zone.Turn.DivisionMM} { // what can be read, and turned to
			if f := math.Round(f/step) * step; step > 0 && f >= max(clear, serves.least) && f <= most {
				x.Focus = math.Round(f*1e6) / 1e6
			}
		}
		x.point = j.marks.At(x.Focus)
		x.Entry = j.marks.Over(x.point.X, x.point.Y, x.Focus)
	}
	j.marks.Over = func(px, py, f float64) float64 { return j.entry(px, py, f, l, opt) }
	settle(x.Focus)
	if higher := x.Focus + x.Entry; x.Entry > 0 && higher <= most {
		settle(higher)
	}
	x.Part = serves.part(x.Focus)
	x.OK = max(x.Over, x.Travel, x.Entry) <= heightRounding
	if x.OK {
		x.Over, x.Travel, x.Entry = 0, 0, 0
	}
	x.AtDatum = x.OK && serves.least <= 0 && serves.most >= 0 && clear <= 0
	return x
}

// entry is by how much the head, or the lens, is too low at a place to set the focus at
// a height, and on the way from there to where the program has said where it is.
func (j *Metrics) entry(x, y, height float64, l *Optic, opt *Options) float64 {
	over, stand := 0.0, [2]float64{x, y}
	tip := func(way *machine.Move, focus float64) {
		if l.Head != nil {
			over = max(over, j.whole.Highest(way)-l.Head.Standoff-focus)
		}
	}
	tip(&machine.Move{To: machine.Point{X: x, Y: y}}, height)
	for way := range j.approach.Ways(&stand) {
		focus := height - j.firstZ + clearance.Programmed(way, opt.Follow.Sigma(), 0, 1)
		tip(way, focus)
		least := l.lead() - focus
		if way.Loose {
			x0, y0, x1, y1 := clearance.Extent(way)
			over = max(over, opt.Follow.Surface.HighestIn(x0, y0, x1, y1, 0, scanTolerance)+least)
			continue
		}
		for _, pc := range stream.AppendHeights(nil, opt.Follow.Surface, way, scanTolerance, 0) {
			over = max(over, max(pc.H0, pc.H1)+pc.Up+least)
		}
	}
	return over
}

// follow tries to follow with a lens.
func (g *adviser) follow(l *Optic, moves bench.Moves) (*FollowAnswer, error) {
	opt := g.opt.Follow
	opt.Depth, opt.Defocus, opt.ZMoves, opt.Head = l.Writing, l.Defocus, moves, l.Head
	opt.Rules, opt.Kinds = l.Rules, l.Kinds
	if l.Surface != nil {
		opt.Surface = l.Surface
	}
	sum, unmet, made, original, err := g.tryTimed(opt)
	if err != nil {
		return nil, err
	}
	x := &FollowAnswer{OK: unmet == nil, Summary: sum, Longer: max(0, sum.SecondsOut-sum.Seconds)}
	if made != nil {
		x.Longer, x.SlowPart, x.Dark = max(0, made.Seconds-original.Seconds), made.SlowPart(), made.DarkPart()
	}
	steep := false
	if unmet != nil {
		f := unmet.Failures[0]
		for _, other := range unmet.Failures {
			steep = steep || other.Kind == follow.TooSteep || other.Kind == follow.PowerUnsaid || other.Kind == follow.PowerLow
			if other.Kind == f.Kind && other.Amount > f.Amount {
				f = other
			}
		}
		x.Why, x.Count, x.Kind, x.Amount = fmt.Sprintf("line %d: %s", f.Line, f), unmet.Count, f.Kind, f.Amount
	}
	if opt.ZRate > 0 && (steep || x.Slowed > 0) {
		if x.Enough, err = g.enough(opt); err != nil {
			return nil, err
		}
	}
	if moves == bench.Always && (steep || x.Slowed > 0 || x.SlowPart > darkLittle) {
		x.EvenFeed, err = g.evenFeed(opt)
	}
	return x, err
}

// enough gives the least Z rate in mm/min, within rateStep, that is enough at
// the programmed feeds with all of the depth; 0 where none is. The peak of the
// taut string in all of the depth is, and where travels may take longer less
// may be.
func (g *adviser) enough(opt follow.Options) (float64, error) {
	short := opt.ZRate * 60
	opt.ZRate, opt.Use, opt.Slow = 0, 1, bench.SlowNever
	sum, unmet, err := g.try(opt, io.Discard)
	if err != nil || unmet != nil {
		return 0, err
	}
	does := upTwoDigits(sum.PeakRate * rateRoom)
	for does > short*rateStep {
		v := upTwoDigits(math.Sqrt(short * does))
		if v >= does {
			break
		}
		opt.ZRate = v / 60
		if _, unmet, err = g.try(opt, io.Discard); err != nil {
			return 0, err
		}
		if unmet == nil {
			does = v
		} else {
			short = v
		}
	}
	return does, nil
}

const (
	// rateRoom is what is added to the rate that was needed, for what
	// rounding of the written Z asks on short moves.
	rateRoom = 1.01
	// rateStep is how closely the rate that is enough is looked for: no
	// bench knows its own better.
	rateStep = 1.05
)

// try follows into a writer.
func (g *adviser) try(opt follow.Options, out io.Writer) (*follow.Summary, *follow.UnmetError, error) {
	if _, err := g.program.Seek(0, io.SeekStart); err != nil {
		return nil, nil, err
	}
	sum, err := follow.Run(g.program, out, opt)
	unmet, is := errors.AsType[*follow.UnmetError](err)
	if is && !unmet.NoBurn {
		return sum, unmet, nil
	}
	return sum, nil, err
}

// zoneOptions are those of dividing with lenses, as split does with the same: one at its own
// defocus, several at that of the job.
func (g *adviser) zoneOptions(lenses []*Optic) zone.Options {
	opt := g.opt.Zone
	opt.Head = g.a.Job.standing(opt.Head)
	alone := len(lenses) == 1
	if alone {
		opt.Defocus = lenses[0].Defocus
	}
	opt.DetailMM, opt.Lenses = 0, nil // judged already
	if alone {
		opt.Rules = lenses[0].Rules
	}
	if l := lenses[0]; alone && l.Surface != nil {
		opt.Surface = l.Surface
	}
	for _, l := range lenses {
		z := zone.Lens{Name: l.Name, Depth: l.Writing, DetailMM: l.DetailMM, Kinds: l.Kinds}
		if !alone {
			z.Kinds = l.Among
		}
		if l.Head != nil {
			z.Standoff = &l.Head.Standoff
		}
		opt.Lenses = append(opt.Lenses, z)
	}
	return opt
}

// zones counts the zones that lenses need.
func (g *adviser) zones(lenses ...*Optic) (n int, why string, err error) {
	if _, err := g.program.Seek(0, io.SeekStart); err != nil {
		return 0, "", err
	}
	p, err := zone.Survey(g.program, g.zoneOptions(lenses))
	if err == nil {
		err = p.Try(g.program)
	}
	if unmet, is := errors.AsType[*zone.UnmetError](err); is && !unmet.NoBurn {
		return 0, unmet.Failures[0].What, nil
	}
	if between, is := errors.AsType[*zone.BetweenError](err); is {
		return 0, between.Error(), nil
	}
	if err != nil {
		return 0, "", err
	}
	return len(p.Zones), "", nil
}
