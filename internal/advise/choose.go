package advise

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sagitta/internal/bench"
	"sagitta/internal/follow"
	"sagitta/internal/phrase"
	"sagitta/internal/zone"
)

// The rule. Lenses in doubt come after all that are not, in whatever way those do it.
// Of either, finest first: the first that runs flat; else the first that follows as the
// bench's Z moves, at the programmed feeds before slower, be it asked for or for what the
// axes can do where the power does not follow; else, with the fewest zones,
// split, followed within where that takes far fewer. By hand nothing is
// followed.

// choose makes the recommendation.
func (g *adviser) choose() error {
	sure, doubted := g.order()
	for _, order := range [2][]int{sure, doubted} {
		if found, err := g.pick(order); found || err != nil {
			return err
		}
	}
	g.none()
	return nil
}

// Tight reports whether so large a part of the depth is spent that the focus is hardly set
// as well as it must be.
func Tight(part float64) bool { return part > 0.9 }

// tightly says that a way spends nearly all of a lens's depth.
func tightly(part float64) string {
	if !Tight(part) {
		return ""
	}
	return fmt.Sprintf("; that is tight: %.0f percent of its depth is spent", 100*part)
}

// pick recommends a way with one or more of some lenses, and reports whether there is
// one.
func (g *adviser) pick(order []int) (bool, error) {
	a := g.a
	for _, i := range order {
		if x := &a.Answers[i]; x.Flat.OK {
			g.with(Flat, i, 1)
			a.Reason = fmt.Sprintf("%s, and %s%s", a.Job.seen(), x.servesAll(), tightly(x.Flat.Part))
			return true, nil
		}
	}
	for _, slow := range []bool{false, true} {
		for _, i := range order {
			if x := &a.Answers[i]; x.Follow != nil && x.Follow.OK && (slow || x.Follow.even()) {
				g.with(Follow, i, 1)
				a.Reason = fmt.Sprintf("%s, and Z follows within %.0f percent of its depth%s%s",
					g.notFlat(x), 100*x.Follow.Part, slower(x.Follow), tightly(x.Follow.Part))
				return true, nil
			}
		}
	}
	return g.divide(order)
}

// with recommends a way with one lens.
func (g *adviser) with(v Verdict, lens, zones int) {
	a := g.a
	a.Verdict, a.Lenses, a.Zones, a.Defocus = v, []int{lens}, zones, a.Answers[lens].Defocus
}

// darkLittle is the part of the burned length that may go a tenth slower, and mark darker
// for it, without that telling against following: what a person hardly sees.
const darkLittle = 0.05

// even reports whether burns go as fast as in the original, but for little of them.
func (f *FollowAnswer) even() bool { return f.Slowed == 0 && f.Dark <= darkLittle }

// slower says what a followed program costs in time, and how its marks look for it.
func slower(f *FollowAnswer) string {
	text := ""
	if f.Slowed > 0 {
		text = fmt.Sprintf(", with %s slowed down", phrase.Count(f.Slowed, "burn"))
	}
	if f.Dark > darkLittle {
		text += fmt.Sprintf(", but %.0f percent of what is burned goes more than a tenth slower for what the axes can do, and marks darker", 100*f.Dark)
	}
	return text
}

// notFlat says why a lens does not run the job flat.
func (g *adviser) notFlat(x *Answer) string {
	if x.Flat.Over > 0 {
		return g.a.Job.seen() + ", " + x.servesNot()
	}
	what, by := "a travel", x.Flat.Travel
	if by == 0 {
		what, by = "the way from where it is set", x.Flat.Entry
	}
	return fmt.Sprintf("at one focus of lens %s %s touches by %.2g mm", x.Name, what, by)
}

// order gives the lenses that are in, finest first, those in doubt by themselves.
func (g *adviser) order() (sure, doubted []int) {
	for i := range g.a.Answers {
		switch x := &g.a.Answers[i]; {
		case x.Out != "":
		case x.Doubt != "":
			doubted = append(doubted, i)
		default:
			sure = append(sure, i)
		}
	}
	for _, order := range [2][]int{sure, doubted} {
		slices.SortStableFunc(order, func(i, k int) int {
			x, y := &g.a.Answers[i], &g.a.Answers[k]
			return zone.Finer(zone.Lens{Depth: x.Checking, DetailMM: x.DetailMM}, zone.Lens{Depth: y.Checking, DetailMM: y.DetailMM})
		})
	}
	return sure, doubted
}

// divide recommends zones, those of the lens that needs fewest, and reports whether there
// are any: no lenses together need less than the deepest of them alone. What they need
// together, the finest wherever it is deep enough, is told beside it.
func (g *adviser) divide(order []int) (bool, error) {
	if len(order) == 0 {
		return false, nil
	}
	a := g.a
	best := -1
	var lenses []*Optic
	for _, i := range order {
		x := &a.Answers[i]
		lenses = append(lenses, &x.Optic)
		if x.Zones > 0 && (best < 0 || x.Zones < a.Answers[best].Zones) {
			best = i
		}
	}
	if mixed, err := g.mix(lenses, order[0], best); err != nil || mixed || best < 0 {
		return mixed, err
	}
	if len(lenses) > 1 {
		n, _, err := g.zones(lenses...)
		if err != nil {
			return false, err
		}
		a.Together = n
	}
	x := &a.Answers[best]
	g.with(Split, best, x.Zones)
	a.Reason = fmt.Sprintf("%s, %s, and one focus for each of %s serves all burns", g.notFlat(x), g.notFollowed(x), phrase.Count(a.Zones, "zone"))
	return true, nil
}

const (
	// manySettings is how many zones a job is split into before anything
	// else is looked for: each is set by hand, and can be set wrong.
	manySettings = 4
	// mixSaves is the part of them that zones that are followed within may
	// come to, to be worth their Z moves.
	mixSaves = 2.0 / 3
)

// mix looks for zones that are followed within, where following alone cannot
// be done, and splitting alone cannot or takes too many settings. Where one
// setting and one Z must serve a whole run of burns anyway, it is no help.
func (g *adviser) mix(lenses []*Optic, first, best int) (bool, error) {
	a := g.a
	alone := 0
	if best >= 0 {
		alone = a.Answers[best].Zones
	}
	if g.opt.Follow.ZMoves != bench.Always || best >= 0 && alone <= manySettings {
		return false, nil
	}
	opt := g.zoneOptions(lenses)
	opt.Within = &zone.Within{Follow: g.opt.Follow}
	p, err := zone.Fewest(g.program, opt)
	if err == nil {
		err = p.Try(g.program)
	}
	if unmet, is := errors.AsType[*zone.UnmetError](err); is && !unmet.NoBurn {
		return false, nil
	}
	if err != nil || alone > 0 && float64(len(p.Zones)) > mixSaves*float64(alone) {
		return false, err
	}
	a.Verdict, a.Zones, a.Defocus = Mixed, len(p.Zones), opt.Defocus
	for _, l := range p.Lenses {
		if l.Zones == 0 {
			continue
		}
		a.Lenses = append(a.Lenses, slices.IndexFunc(a.Answers, func(x Answer) bool { return x.Name == l.Name }))
	}
	x := &a.Answers[first]
	without := fmt.Sprintf("without following it would take %s", phrase.Count(alone, "zone"))
	if best < 0 {
		x, without = &a.Answers[a.Lenses[0]], "it cannot be split without following"
	}
	a.Reason = fmt.Sprintf("%s, %s, and %s; Z keeps up within %s", g.notFlat(x), g.notFollowed(x), without, phrase.Count(a.Zones, "zone"))
	return true, nil
}

// notFollowed says why a lens does not follow.
func (g *adviser) notFollowed(x *Answer) string {
	switch f := x.Follow; {
	case f == nil:
		return "Z is moved by hand"
	case f.Kind == follow.TooSteep:
		return fmt.Sprintf("following needs %s mm/min of Z and the bench has %s", phrase.Short(f.Amount), phrase.Short(g.opt.Follow.ZRate*60))
	case f.Kind == follow.TooDeep:
		return fmt.Sprintf("an unbroken run of burns needs %.2f times the depth at one Z", f.Amount)
	default:
		return "it cannot be followed (" + f.Why + ")"
	}
}

// none says by which limit, and how much, each lens fails.
func (g *adviser) none() {
	g.a.Verdict = None
	var why []string
	for i := range g.a.Answers {
		x := &g.a.Answers[i]
		what := x.Out
		if what == "" {
			what = fmt.Sprintf("%s, %s, and %s", g.notFlat(x), g.notFollowed(x), x.NoZones)
		}
		why = append(why, fmt.Sprintf("lens %s: %s", x.Name, what))
	}
	g.a.Reason = strings.Join(why, "; ")
}
