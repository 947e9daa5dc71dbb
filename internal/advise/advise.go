package advise

import (
	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/zone"
)

// Optic is a lens to judge.
type Optic struct {
	Name string
	// Out says why the lens is out, with the limit and the amount, as that its
	// record has no depth; empty where it is in.
	Out string
	// Checking is its usable depth at a focus that is set once, Writing that
	// where Z is written.
	Checking, Writing focus.Depth
	// Defocus is the wanted defocus with it, + further.
	Defocus float64
	// Rules tells of which kind burns are with it, nil where all are of kind 0, which asks
	// for the depths and the defocus above; Kinds are what those of kind 1 and on ask for
	// where Z is written, and Ruled, by rule from the first, what they do at a focus that is
	// set once.
	Rules *stream.Kinds
	Kinds []focus.Aim
	Ruled []focus.Aim
	// Among are Kinds where it divides the job with others, all at the defocus of Options.Zone.
	Among []focus.Aim
	// Surface is as it is under this lens, see Placed.Narrowed; nil where it is as under any.
	Surface *surface.Placed
	// Head is the head with it, nil where that is not known.
	Head *bench.Head
	// DetailMM is the smallest detail that it is known to mark; 0 where the
	// record does not say. TooSmall says why a detail of so many mm is too small
	// for this lens, empty where it is not; nil asks DetailMM alone.
	DetailMM float64
	TooSmall func(mm float64) string
	// Assumed tells that TooSmall knows, from what is assumed of the spot.
	Assumed bool
}

// Options are the settings of a run.
type Options struct {
	// Follow and Zone are those that the job would be followed and divided
	// with, but for the lens, its defocus and what rules ask for with it. Where several divide
	// it, the defocus is that of Zone.
	Follow follow.Options
	Zone   zone.Options
	// Lenses are those there are; at least one.
	Lenses []Optic
	// Detail is the smallest detail; without MM it is guessed.
	Detail Detail
}

// Verdict is the way that is right for a job.
type Verdict string

// The verdicts.
const (
	// Flat: at one focus, the program as it is.
	Flat Verdict = "flat"
	// Follow: one program that follows the surface.
	Follow Verdict = "follow"
	// Split: one program for each zone.
	Split Verdict = "split"
	// Mixed: zones, within which the surface is followed.
	Mixed Verdict = "mixed"
	// None: no lens can do it.
	None Verdict = "none"
)

// Advice is the answer.
type Advice struct {
	Verdict Verdict
	// Lenses are the places in Answers of those to use: one but for Split
	// and Mixed.
	Lenses []int
	// Reason is why, in a sentence.
	Reason string
	// Zones is how many set-ups the recommended way has, Defocus the wanted
	// defocus in it.
	Zones   int
	Defocus float64

	Job     *Metrics
	Detail  Detail
	Answers []Answer
	// Together is how many zones all lenses that mark the detail need
	// together, 0 where there are less than two.
	Together int
	Cheap    []Cheap
	// Point is a place on the stock to set the focus at for Flat.
	Point setup.FocusPoint
}

// Run judges a job, reading its program from the beginning as often as need
// be. Errors are those of follow.Run for a program that cannot be read, burns
// nothing or leaves the surface, and those of program.
func Run(program zone.Source, opt Options) (*Advice, error) {
	j, err := scan(program, &opt)
	if err != nil {
		return nil, err
	}
	a := &Advice{Job: j, Detail: opt.Detail}
	if guessed := j.detail.finish(); a.Detail.MM == 0 && guessed.MM > 0 {
		a.Detail = guessed
	}
	g := &adviser{program: program, opt: &opt, a: a}
	if err := g.timeJob(); err != nil {
		return nil, err
	}
	for _, l := range opt.Lenses {
		x, err := g.lens(l)
		if err != nil {
			return nil, err
		}
		a.Answers = append(a.Answers, x)
	}
	if err := g.choose(); err != nil {
		return nil, err
	}
	if a.Verdict == Flat {
		a.Point = a.Answers[a.Lenses[0]].Flat.point
	}
	g.cheap()
	return a, nil
}
