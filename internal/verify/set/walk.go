package set

import (
	"math"
	"slices"

	"sagitta/internal/verify"
)

// burn takes the next burn of a zone.
func (w *pairing) burn(r *zone) error {
	f := w.find
	here, err := f.find(r)
	if err != nil {
		return err
	}
	if !here.there {
		r.Fail(verify.AddedBurn, nil, 0, r.S.M.Length, r.S.String()+", which the original has nowhere, or not so often")
		r.settle()
		r.arrive(0, true)
		return nil
	}
	w.claims(r, here)
	r.compare(&f.at.o, here.lies)
	w.note(r, here)
	return nil
}

// claims finds in what a zone owes before its next burn, which was found, what the
// original has there: between two burns that follow each other in it, or else the travels
// behind the one and before the other.
func (w *pairing) claims(r *zone, here found) {
	f := w.find
	at := f.at
	switch {
	case !r.begun:
		w.before(r)
		r.blew |= w.orig.airBefore
		if at.from.burn == 0 || here.from > 0 {
			return
		}
	case here.on && !f.fresh:
		return
	case here.on:
		w.between(r, at.between, at.from.burn)
		r.blew |= at.air
		return
	default:
		r.claim(w.anywhere(f.behind), nil)
		r.blew |= f.airBehind
	}
	if here.from == 0 {
		r.claim(w.anywhere(at.between), nil)
		r.blew |= at.air
	}
}

// anywhere are the steps that need not be between the same burns: travels, and words
// that switch nothing.
func (w *pairing) anywhere(steps []verify.Step) (list []verify.Step) {
	for i := range steps {
		if s := &steps[i]; s.Kind != verify.Word || !s.Stops && !w.switches(s) {
			list = append(list, *s)
		}
	}
	return list
}

// note notes what of the original the burn of a zone is.
func (w *pairing) note(r *zone, here found) {
	f := w.find
	at := f.at
	n := at.from.burn
	start, end := where{n, part(here.from)}, where{n, part(here.to)}
	f.covered, f.fresh = here.to, false
	if here.ends {
		f.covered, end = 1, where{burn: n + 1}
	}
	if f.taken.take(n, here.lies) {
		f.sections[f.section(n)].done++
	}
	if last := w.stretches.last(); last != nil && here.on && int(last.zone) == r.number {
		last.end = end
		return
	}
	w.stretches.add(stretch{start, end, int32(r.number), int32(r.S.Line), float32(r.Tolerance())})
}

// finish takes the end of a zone.
func (w *pairing) finish(r *zone) error {
	f := w.find
	last := r.number == len(w.set.Zones)
	if !r.begun {
		w.before(r)
		r.blew |= w.orig.airBefore
	} else {
		if err := f.goOn(); err != nil {
			return err
		}
		if f.fresh && f.at.there {
			r.claim(w.anywhere(f.at.between), nil)
			r.blew |= f.at.air
		}
	}
	w.behind(r, last)
	r.blew |= w.orig.airBehind
	r.settle()
	r.arrive(0, true)
	r.atPoints.Hold(r.Res, r.focus+min(r.Lead(), -r.Opt.Depth.Near))
	if r.stops {
		r.blew = w.orig.airs
	}
	r.breathe(nil)
	for _, u := range r.Unsaid {
		if !slices.ContainsFunc(w.orig.paths, func(p verify.Step) bool { return p.SamePath(&u) }) {
			r.S = u
			r.FailPath(nil)
		}
	}
	if r.from == 0 {
		r.CompareModes(w.orig.stream)
	}
	r.noWaits()
	r.focusStop()
	if r.to == math.MaxInt {
		// A program that was divided ends with the beam off.
		end := w.orig.stream.State()
		r.CompareEnd(&end, true)
		if w.orig.ends != nil && !r.ends {
			r.Fail(verify.EndDiffers, nil, 0, math.NaN(), "no "+w.orig.ends.String()+" ends it")
		}
	}
	if r.unchecked > 0 {
		r.Res.Note("travels between stops at which the lens is raised by hand: %d; whether they are clear was not checked", r.unchecked)
	}
	r.Finish("")
	if r.Opt.Watch != nil {
		r.Opt.Watch.End(r.Res)
	}
	r.end = r.State()
	r.Judge = nil // and its buffers
	return nil
}
