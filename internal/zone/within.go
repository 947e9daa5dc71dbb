package zone

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"sort"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/zone/sheet"
)

// Within says that the surface is followed within zones, which are then wider
// than a lens serves at one focus: Z has less to do in a zone than over the
// whole job, since burns are cut, and Z goes on, where one zone ends.
type Within struct {
	// Follow are the options of following; its name, surface, depth and
	// defocus are those of the zones.
	Follow follow.Options
	// Wider is how many times wider than one setting serves a zone is, 1 or
	// more.
	Wider float64
}

// widen widens the lenses for zones that are followed within.
func (o *Options) widen() {
	for i := range o.Lenses {
		l := &o.Lenses[i]
		l.usable, l.within = l.Depth, l.Kinds
		if o.Within != nil {
			l.Depth.Near, l.Depth.Far = l.Depth.Near*o.Within.Wider, l.Depth.Far*o.Within.Wider
			l.Kinds = slices.Clone(l.Kinds)
			for k := range l.Kinds {
				a := &l.Kinds[k]
				a.Near, a.Far = a.Near*o.Within.Wider, a.Far*o.Within.Wider
			}
		}
		l.passes = focus.Lowest(l.aim(0, o.Defocus), l.Kinds)
	}
}

// followWithin follows the surface in the zone's program, which gets a name.
// Heights count from the zone's focus there, which is where the operator sets it.
func (o *out) followWithin(name string) error {
	p, z, opt := o.p, o.z, o.opt.Within.Follow
	opt.Name, opt.Defocus = z.Program, 0
	opt.KeepRamps = true // of a last decimal, where a zone comes in at another unit
	opt.Surface = o.opt.Surface.Lowered(z.Focus - o.opt.Defocus)
	opt.Depth = p.Lenses[z.Lens].Usable
	opt.From = o.stand()
	o.askedWithin(&opt)
	opt.Head = o.opt.headWithin(o.lens, z.Focus-o.opt.Defocus)
	in, err := os.Open(string(o.file))
	if err != nil {
		return err
	}
	defer in.Close()
	sum, err := follow.Run(in, sheet.Spool(name), opt)
	z.Seconds, z.Slowed, z.SlowedBy = sum.SecondsOut, sum.Slowed, sum.SlowedBy
	var unmet *follow.UnmetError
	if errors.As(err, &unmet) {
		return refused(o.opt.Name, "zone %d cannot be followed with lens %s: %v", z.Order, p.Lenses[z.Lens].Name, err)
	}
	if e := diag.As(err); e != nil && o.pen.Figures.Added == 0 {
		// Where no line may be put in, as among numbers and checksums, none has
		// been so far, nor left out: its lines are those of the original.
		e.File = o.opt.Name
	}
	return err
}

// kindFrom says of which kind burns are from a line of a zone's program on.
type kindFrom struct{ line, kind int }

// note notes of which kind the burns are that are written next, where that matters later.
func (o *out) note(kind int) {
	if o.opt.Within == nil || len(o.lens.Kinds) == 0 {
		return
	}
	if n := len(o.kinds); n == 0 && kind != 0 || n > 0 && o.kinds[n-1].kind != kind {
		o.kinds = append(o.kinds, kindFrom{o.pen.LineCount() + 1, kind})
	}
}

// askedWithin has following ask of each burn of the zone's program, whose lines are its own,
// what rules do. Heights count from the zone's focus there, so the job's wanted defocus is
// none.
func (o *out) askedWithin(opt *follow.Options) {
	opt.Rules, opt.Kinds = nil, nil
	if len(o.kinds) == 0 {
		return
	}
	opt.Rules = &stream.Kinds{Rule: func(line, _ int, _, _ float64) int {
		n := sort.Search(len(o.kinds), func(i int) bool { return o.kinds[i].line > line })
		if n == 0 {
			return 0
		}
		return o.kinds[n-1].kind
	}}
	for kind := range 1 + len(o.lens.within) {
		opt.Rules.Of = append(opt.Rules.Of, kind)
	}
	for _, a := range o.lens.within {
		a.Defocus -= o.opt.Defocus
		opt.Kinds = append(opt.Kinds, a)
	}
}

// headWithin is the head with a lens for heights that are lower by so many mm;
// nil where it is not known.
func (o *Options) headWithin(l *Lens, lower float64) *bench.Head {
	if o.Head == nil || l.Standoff == nil {
		return nil
	}
	h := *o.Head
	// The wanted defocus is counted among the heights there, and is none.
	h.Standoff, h.Boxes = *l.Standoff+o.Defocus, slices.Clone(h.Boxes)
	for i := range h.Boxes {
		h.Boxes[i].Height -= lower
	}
	return &h
}

// Fewest surveys a program for the fewest zones within which it can be
// followed, by trying: wide zones first, then flat ones, and those without
// following where they are fewer (see Set.Followed). opt.Within is set, but for
// its width. It leaves nothing behind.
//
// Errors are those of Survey and Split for flat zones.
func Fewest(r Source, opt Options) (*Plan, error) {
	p, err := fewest(r, opt)
	if err == nil {
		err = p.undivided()
	}
	if err != nil {
		return nil, err
	}
	return p, nil
}

// fewest is Fewest of a job that may be divided.
func fewest(r Source, opt Options) (*Plan, error) {
	following := opt.Within.Follow
	surveyed := func(within *Within) (*Plan, error) {
		opt.Within = within
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		return survey(r, opt)
	}
	flat, flatErr := surveyed(&Within{Follow: following, Wider: 1})
	var unmet *UnmetError
	n := MostZones
	switch {
	case flatErr == nil:
		n = len(flat.Zones)
	case !errors.As(flatErr, &unmet) || unmet.NoBurn || errors.As(flatErr, new(*anyWidthError)):
		return nil, flatErr
	}
	// What is followed within may not be split at every change of Z that the
	// program has, so that zones without following can be fewer.
	alone, err := surveyed(nil) // nil where it is unmet
	if err != nil && !errors.As(err, &unmet) {
		return nil, err
	}
	tried := 0
	for k := 1; k < min(n, mostFollowed); k += (k + 2) / 3 {
		within := &Within{Follow: following, Wider: float64(n) / float64(k) * widerThanNeeded}
		plan, err := surveyed(within)
		if err == nil && len(plan.Zones) != tried && (alone == nil || len(plan.Zones) <= len(alone.Zones)) {
			tried = len(plan.Zones)
			if err = plan.Try(r); err == nil {
				return surveyed(within)
			}
		}
		if err != nil && !errors.As(err, &unmet) {
			return nil, err
		}
	}
	if flatErr == nil && alone != nil && len(alone.Zones) < n {
		return alone, nil
	}
	return flat, flatErr
}

// mostFollowed bounds the zones that are tried: more settings by hand are
// worth no Z moves besides.
const mostFollowed = 100

// widerThanNeeded is what is added to the width of zones for what is taken off
// it for certainty.
const widerThanNeeded = 1.03

// Try splits for nothing but to see whether it can be done. Errors are those of
// Split.
func (p *Plan) Try(r Source) error {
	dir, err := os.MkdirTemp("", "sagitta-*")
	if err != nil {
		return fmt.Errorf("a folder to try zones in: %w", err)
	}
	defer os.RemoveAll(dir)
	return p.Split(r, dir)
}

// level takes what a travel says of the programmed Z, counted away from the stock.
// Where the surface is followed, only the correction is held clear of it, so that no
// travel may be programmed lower than the burns.
func (s *surveyor) level(m *machine.Move) {
	s.lowTravel = min(s.lowTravel, s.sigma*m.To.Z)
	if m.Length > 0 || m.FromUnknown { // more than Z moves
		s.lowTravel = min(s.lowTravel, s.sigma*m.From.Z)
	}
}

// checkLevels returns why zones cannot be followed within, nil where they can.
func (s *surveyor) checkLevels() error {
	var f failures
	switch level := s.focusZ(); {
	case s.offLevel > 0:
		f.add(s.offLevel, "burns are programmed at different Z, and zones can be followed within only where all are at one; split without following")
	case s.lowTravel < level-rounding:
		f.add(0, "a travel is programmed %.3f mm lower than the burns, and zones can be followed within only where none is; split without following", level-s.lowTravel)
	default:
		return nil
	}
	return &anyWidthError{f.Err(s.opt.Name)}
}
