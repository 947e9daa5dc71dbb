package set

import "sagitta/internal/verify"

import ()

// found is where in the original a zone's next burn was found.
type found struct {
	lies
	// there tells that it was, and on that it goes on where the zone's last has ended.
	there, on bool
}

// finder finds burns of programs in the original. Which burn of the original one is
// does not depend on the hints of where to look, but where both are alike.
type finder struct {
	*original
	// at stands where the last burn was found, covered up to a fraction, and probe
	// looks elsewhere; fresh tells that at has gone on to its burn, of which the zone
	// has nothing yet.
	at, probe *cursor
	covered   float64
	fresh     bool
	pieces    *pieces
	taken     burned
	// left tells that at has gone on further, or elsewhere, behind are the steps behind
	// the zone's last burn, and airBehind is the air meanwhile.
	left      bool
	behind    []verify.Step
	airBehind air
	// budget is how many steps may be read yet to look for burns, and gaveUp that it
	// was not enough.
	budget int
	gaveUp bool
	// nearest is the burn that look has found.
	nearest int32
	// vain counts the burns that were looked for in vain.
	vain int
}

const (
	// looksPerLine and looksMore are how many steps may be read for each line of the
	// original, and besides, so that no program takes forever.
	looksPerLine, looksMore = 64, 4 << 20
	// boxesPerStep is how many boxes are looked at in the time that a step takes.
	boxesPerStep = 64
	// mostVain is how many burns are looked for in vain before what lies nearest is
	// taken at once.
	mostVain = 1000
)

func newFinder(g *original, pieces *pieces) *finder {
	for i := range g.sections {
		g.sections[i].done = 0
	}
	return &finder{original: g, at: newCursor(g), probe: newCursor(g), pieces: pieces,
		taken: newBurned(g.end.burn), budget: looksPerLine*g.lines + looksMore}
}

// begin goes to where the original begins.
func (f *finder) begin() {
	f.at.seek(0)
	f.covered, f.fresh = 1, false
}

// goOn goes on behind the burn that is covered.
func (f *finder) goOn() error {
	if f.covered < 1 {
		return nil
	}
	f.covered, f.fresh = 0, true
	return f.at.next()
}

// find finds the next burn of a zone.
func (f *finder) find(r *zone) (found, error) {
	if err := f.goOn(); err != nil {
		return found{}, err
	}
	var next found
	if f.at.there {
		next.lies, next.there = r.goesOn(&f.at.o, f.covered)
		next.on = true
	}
	if next.there && (r.exact(&f.at.o, next.lies) && !f.taken.has(f.at.from.burn, next.lies) || f.vain > mostVain) {
		return next, nil
	}
	burn, fresh := f.at.from.burn, f.fresh
	f.left = false
	if here, err := f.hinted(r); err != nil || here.there {
		return here, err
	}
	if here, err := f.near(r); err != nil || here.there {
		return here, err
	}
	best, ok, err := f.search(r, f.at.from.burn, next.there)
	switch {
	case err != nil:
		return found{}, err
	case ok: // as it should be
		f.jump()
		return best, nil
	case !next.there && best.there:
		f.vain++
		f.jump()
		return best, nil
	}
	f.vain++
	f.fresh = fresh
	if !next.there && f.at.from.burn == burn {
		return next, nil
	}
	return next, f.at.burn(burn)
}

// leave keeps what stands behind the zone's last burn, as at goes elsewhere.
func (f *finder) leave() {
	if f.left {
		return
	}
	f.left, f.behind, f.airBehind = true, f.behind[:0], 0
	if f.fresh {
		f.behind, f.airBehind = append(f.behind, f.at.between...), f.at.air
	}
	f.fresh = true
}

// jump has the probe's place for its own.
func (f *finder) jump() {
	f.leave()
	f.at, f.probe = f.probe, f.at
}

// hinted looks where the file of pieces has the zone's next.
func (f *finder) hinted(r *zone) (found, error) {
	for i, row := range f.pieces.of(r.number) {
		k := f.sectionOf(func(s *section) bool { return s.mark.Line() >= row.line })
		if !f.sections[k].box.has(&r.S.M, r.Tolerance()) || f.budget <= 0 {
			continue
		}
		c := f.probe
		if f.at.there && f.at.o.Line <= row.line && f.at.from.burn >= f.sections[k].from.burn {
			c = f.at
			f.leave()
		} else {
			c.seek(k)
		}
		before := c.steps
		for !c.there || c.o.Line < row.line {
			if err := c.next(); err != nil {
				return found{}, err
			}
			if !c.there || c.steps-before > f.budget {
				break
			}
		}
		f.budget -= c.steps - before
		if !c.there || c.o.Line != row.line {
			continue
		}
		l, ok := r.anywhere(&c.o)
		if ok && r.exact(&c.o, l) && !f.taken.has(c.from.burn, l) {
			f.pieces.take(i)
			f.pieces.used++
			if c == f.probe {
				f.jump()
			}
			return found{l, true, false}, nil
		}
	}
	return found{}, nil
}

// near looks for the zone's next burn a little further on, as long as it may be there.
func (f *finder) near(r *zone) (found, error) {
	for k := f.section(f.at.from.burn); f.at.there && k < len(f.sections) && f.sections[k].box.has(&r.S.M, r.Tolerance()); k++ {
		f.leave()
		for end := f.sectionEnd(k); f.at.there && f.at.from.burn < end; f.budget-- {
			l, ok := r.anywhere(&f.at.o)
			if ok && r.exact(&f.at.o, l) && !f.taken.has(f.at.from.burn, l) {
				return found{l, true, false}, nil
			}
			if err := f.at.next(); err != nil || f.budget <= 0 {
				return found{}, err
			}
		}
	}
	return found{}, nil
}

// search looks for the zone's next burn all over the original, from where it stands on:
// for the first that it is just as it should be and that is not burned yet, which ok
// reports, or else the one that comes nearest, where none goes on. Then the probe stands
// there.
func (f *finder) search(r *zone, now int32, goesOn bool) (best found, ok bool, err error) {
	first := f.section(now)
	score, burn := -1, int32(0)
	n := len(f.sections)
	f.budget -= n / boxed / boxesPerStep
	for i := 0; i < n+1; i++ {
		k := (first + i) % n
		if k%boxed == 0 && i+boxed <= n && k+boxed <= n && !f.boxes[k/boxed].has(&r.S.M, r.Tolerance()) {
			i += boxed - 1
			continue
		}
		if !f.sections[k].box.has(&r.S.M, r.Tolerance()) || f.isDone(k) {
			continue
		}
		if f.budget <= 0 {
			f.gaveUp = true
			break
		}
		if i > 0 {
			now = 0
		}
		l, s, err := f.look(r, k, now)
		switch {
		case err != nil:
			return found{}, false, err
		case s == asItShould:
			return found{l, true, false}, true, nil
		case s > score:
			score, burn = s, f.nearest
			best = found{l, true, false}
		}
	}
	if best.there && !goesOn {
		return best, false, f.probe.burn(burn)
	}
	return found{}, false, nil
}

// asItShould is the score of a burn that is just as it should be, and not burned yet.
const asItShould = 8

// look looks for the zone's next burn in a section, from a burn on.
func (f *finder) look(r *zone, k int, from int32) (best lies, score int, err error) {
	score = -1
	end := f.sectionEnd(k)
	f.probe.seek(k)
	before := f.probe.steps
	defer func() { f.budget -= f.probe.steps - before }()
	for {
		if err := f.probe.next(); err != nil || !f.probe.there || f.probe.from.burn >= end {
			return best, score, err
		}
		o, n := &f.probe.o, f.probe.from.burn
		l, ok := r.anywhere(o)
		if !ok || n < from {
			continue
		}
		s := 0
		left := !f.taken.has(n, l)
		if left && r.exact(o, l) {
			return l, asItShould, nil
		}
		if r.SameDose(o) {
			s += 4
		}
		if left {
			s += 2
		}
		if l.ends {
			s++
		}
		if s > score {
			best, score, f.nearest = l, s, n
		}
	}
}

// sectionEnd is the first burn behind a section.
func (g *original) sectionEnd(k int) int32 {
	if k+1 < len(g.sections) {
		return g.sections[k+1].from.burn
	}
	return g.end.burn
}

// isDone reports whether all burns of a section were found, each as a whole.
func (g *original) isDone(k int) bool {
	return g.sections[k].done > 0 && g.sections[k].done == g.sectionEnd(k)-g.sections[k].from.burn
}

// section is that of a burn.
func (g *original) section(burn int32) int {
	return g.sectionOf(func(s *section) bool { return s.from.burn > burn })
}
