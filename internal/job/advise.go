package job

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/advise"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Advise are the options to judge the program name with. A detail that was
// given narrows the depths that are only assumed.
func (j *Job) Advise(name string, detail advise.Detail) (advise.Options, error) {
	for i := range j.Lenses {
		l := &j.Lenses[i]
		if err := j.narrow(l, detail.MM); err != nil && !errors.Is(err, focus.ErrSpent) {
			return advise.Options{}, err
		}
		if l.narrowed && j.Rules.Burns != nil {
			if err := j.narrowRules(l); err != nil {
				return advise.Options{}, err
			}
		}
	}
	opt := advise.Options{Follow: j.Follow(name), Zone: j.Zones(name), Detail: detail}
	opt.Follow.Setting = nil // what is tried is written nowhere
	opt.Follow.Surface = opt.Zone.Surface
	in := j.In()
	rules, kinds := j.Rules.kindsOf(in, func(l *Lens) float64 { return l.Defocus })
	for i := range j.Lenses {
		l := &j.Lenses[i]
		c := advise.Optic{Name: l.Name, Writing: l.Writing, Checking: l.Checking, Defocus: l.Defocus, Head: j.HeadOf(l)}
		c.Surface = j.under(j.Lenses[i : i+1])
		if l.Out != nil {
			c.Out = l.Out.Error()
		} else if rules != nil {
			k := slices.Index(in, l)
			c.Rules, c.Kinds, c.Among = rules, kinds[k], opt.Zone.Lenses[k].Kinds
			for k := range j.Rules.Burns {
				c.Ruled = append(c.Ruled, j.Rules.Checked(l, k, l.Defocus))
			}
		}
		if r := l.Record; r != nil {
			c.DetailMM = record.Known(r.SmallestDetailMM)
			_, _, beam := r.Beam()
			c.Assumed = beam && r.DepthMM == nil
			c.TooSmall = func(mm float64) string { return tooSmall(r, mm) }
		}
		opt.Lenses = append(opt.Lenses, c)
	}
	return opt, nil
}

// narrow takes of a depth that is only assumed the part within which a detail
// stays legible.
func (j *Job) narrow(l *Lens, detailMM float64) error {
	if r := l.Record; l.Out != nil || detailMM == 0 || r == nil || r.DepthMM != nil {
		return nil
	}
	f, ok := l.Record.DepthFor(detailMM)
	if d := l.Depth; !ok || f.Near >= d.Near && f.Far >= d.Far {
		return nil
	}
	l.Depth.Near, l.Depth.Far = math.Min(l.Depth.Near, f.Near), math.Min(l.Depth.Far, f.Far)
	l.narrowed = true
	j.note("assumed: for a detail of %.3g mm only %s mm of it, from %s", detailMM, phrase.Sides(l.Depth.Near, l.Depth.Far), f.From)
	return l.use(l.Budget, l.Depth)
}

// narrowRules has rules that say nothing of the depth take the narrowed one. Other commands
// are told of that by the depth alone, so no rule may ask the record for another.
func (j *Job) narrowRules(l *Lens) error {
	for k := range j.Rules.Burns {
		if d := j.Rules.Burns[k].DetailMM; d != nil {
			return wrong("leave that out, and write the detail of the other burns into a rule of its own, the last, without lines or feed",
				"the smallest detail of the job is given beside rules, and rule %d says that of its burns (detail_mm = %g)", k+1, *d)
		}
	}
	return l.takeRules(j.Rules.name, j.Rules.Burns)
}

// tooSmall says why a lens does not mark a detail: only a spot that is known to be
// too wide tells against it.
func tooSmall(r *record.Lens, mm float64) string {
	if d, ok := r.DepthFor(mm); ok || !d.Assumed {
		return ""
	}
	waist, _, _ := r.Beam()
	most := mm / record.StrokesOfDetail
	if waist-most < most/1000 {
		return fmt.Sprintf("its spot of %.3g mm is as wide at best focus as a detail of %.3g mm allows, which leaves no depth", waist, mm)
	}
	return fmt.Sprintf("its spot of %.3g mm is %.2g mm wider than the %.2g mm that a detail of %.3g mm allows, even at best focus", waist, waist-most, most, mm)
}

// Option is how other commands are told of the lens.
func (l *Lens) Option() (name, value string) {
	switch {
	case l.narrowed:
		return "--depth", fmt.Sprintf("-%.4g,%.4g", l.Depth.Near, l.Depth.Far)
	case l.File == "":
		return "--depth", l.given
	}
	return "-l", l.File
}
