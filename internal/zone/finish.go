package zone

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/program"
	"sagitta/internal/zone/sheet"
)

// finish decides and writes what waits, and ends the programs.
func (s *splitter) finish() error {
	s.settle()
	s.write(false)
	s.flush()
	s.settleLast()
	e := s.last.m
	lastZone := s.cur
	if s.opt.Pause {
		return s.joinAll(&e)
	}
	for i, o := range s.outs {
		if !o.begun {
			continue // nothing came to it: see dropEmpty
		}
		s.frame.close(o, &e, int32(i) == lastZone)
		o.w.flush()
	}
	return s.err()
}

// joinAll makes one program of the zones' parts, with a stop before each.
func (s *splitter) joinAll(e *modal) error {
	if s.cur >= 0 {
		s.leave(&program.Block{Comment: -1}, false)
	}
	name := s.p.pauseName()
	whole := newAppender(filepath.Join(s.dir, name), 1)
	whole.count = true
	var prev *out
	for _, o := range s.inOrder() {
		if !o.begun {
			continue
		}
		o.w.flush()
		body := o.w.path
		o.w, o.z.Program = whole, name
		like := s.frame.likeOf(&s.frame.head)
		end := o.m // behind the part
		inside := o.z.Raised
		o.z.Raised = nil
		if prev == nil {
			prev = o
			o.marked, o.dark = false, false
			o.mark(like)
			s.frame.writeHead(o, o.sigma()*s.p.burnZ)
			o.darkness(like)
		} else {
			o.marked, o.dark = true, true
		}
		s.stopAt(prev, o, like)
		for _, r := range inside {
			o.z.Raised = append(o.z.Raised, [2]int{r[0] + whole.lines, r[1] + whole.lines})
		}
		if err := copyFile(whole, body); err != nil {
			return err
		}
		o.m = end
		prev = o
	}
	s.frame.close(prev, e, false)
	whole.flush()
	return s.err()
}

// stopAt goes on from the end of prev's part to o's focus point, and waits. For
// another lens it waits before as well, as the way there need not be clear for
// the one that is on.
func (s *splitter) stopAt(prev, o *out, like *program.Block) {
	want := modal{beam: prev.m.beam, known: true, inches: s.frame.end.inches, path: s.frame.end.path}
	prev.modes(&want, like, false)
	s.dark(prev, &o.stopDark, like)
	by := prev
	if prev.lens != o.lens {
		prev.wait(like, "change to lens %s, and raise the focus to %.3f mm over the datum or more", o.lens.Name, o.z.Focus)
		o.z.Stop = o.w.lines
		o.m, by = prev.m, o
	}
	by.travel(o.z.Point.X, o.z.Point.Y, s.p.burnZ, like, 0, by.sigma()*s.p.burnZ)
	by.toZ(o.stopZ, like, 0)
	by.wait(like, "zone %d: lens %s, set the focus here, %.3f mm over the datum", o.z.Order, o.lens.Name, o.z.Focus)
	o.z.FocusStop = o.w.lines
	if by == prev {
		o.z.Stop = o.w.lines
	}
}

// wait writes a stop, and says what it is for.
func (o *out) wait(like *program.Block, format string, args ...any) {
	if o.opt.Comments {
		o.buf = program.AppendComment(o.buf[:0], like, fmt.Sprintf(format, args...))
		o.write(o.buf)
	}
	o.say('M', program.Int(0))
	o.line(like)
}

// close writes what goes with the programs, and takes away what was only
// needed on the way.
func (s *splitter) close() error {
	for _, sp := range []*spool{&s.frame.head, &s.frame.lead, &s.frame.tail, &s.frame.words} {
		sp.remove()
	}
	for i, o := range s.outs {
		if b := o.z.Lines.Bound(); !b.IsEmpty() {
			o.z.Bound = b
		}
		if s.opt.Pause {
			if err := os.Remove(filepath.Join(s.dir, s.p.bodyName(i))); err != nil && !os.IsNotExist(err) {
				return err
			}
		}
	}
	if err := s.err(); err != nil {
		return err
	}
	if err := s.dropEmpty(); err != nil {
		return err
	}
	if s.opt.Within != nil {
		if err := s.p.followWithin(s.dir); err != nil {
			return err
		}
	}
	if err := s.p.set().Write(s.dir); err != nil {
		return err
	}
	for _, o := range s.outs {
		if err := o.z.Lines.Remove(); err != nil {
			return err
		}
		o.z.Lines = nil
	}
	return nil
}

// set is what there is to tell of the zones.
func (p *Plan) set() *sheet.Set {
	o := &p.opt
	s := &sheet.Set{Name: o.Name, SetZ: o.SetZ, Followed: o.Within != nil, Paused: o.Pause, Rehearsal: o.Rehearsal,
		Lead: o.Lead, Overlap: o.Overlap, Defocus: o.Defocus, CrankMM: o.CrankMM, BurnZ: p.burnZ,
		Burns: p.Burns, BurnLength: p.BurnLength, Low: p.Low, High: p.High, CutBurns: p.CutBurns, Cuts: p.Cuts,
		Zones: p.Zones, Surface: o.Surface}
	for i := range p.Lenses {
		l := &p.Lenses[i]
		s.Lenses = append(s.Lenses, sheet.Lens{Name: l.Name, Usable: l.Usable, Zones: l.Zones, Lows: l.Lows, SpacingMM: l.SpacingMM})
	}
	return s
}

// inOrder gives the zones' programs in the order of burning.
func (s *splitter) inOrder() []*out {
	list := slices.Clone(s.outs)
	slices.SortFunc(list, func(a, b *out) int { return a.z.Order - b.z.Order })
	return list
}

// dropEmpty puts the zones in order, and leaves out those that no burn came
// to, as happens where the heights are a hair over what one zone less would
// serve.
func (s *splitter) dropEmpty() error {
	zones, outs := s.p.Zones[:0:0], s.outs[:0:0]
	for _, o := range s.inOrder() {
		if o.begun {
			zones, outs = append(zones, *o.z), append(outs, o)
		} else {
			s.p.Lenses[o.z.Lens].Zones--
		}
	}
	s.p.Zones, s.outs = zones, outs
	for i, o := range outs {
		o.z = &s.p.Zones[i]
		o.z.Order = i + 1
		name := s.p.fileName(i)
		if s.opt.Pause || name == o.z.Program {
			continue
		}
		if err := os.Rename(filepath.Join(s.dir, o.z.Program), filepath.Join(s.dir, name)); err != nil {
			return err
		}
		o.z.Program = name
	}
	return nil
}

func copyFile(w io.Writer, name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// fileName is that of zone i's program: the original's name, the zone's order
// and its lens.
func (p *Plan) fileName(i int) string {
	width := len(fmt.Sprint(len(p.Zones)))
	return fmt.Sprintf("%s-%0*d-%s.gcode", p.stem(), width, p.Zones[i].Order, plainName(p.Lenses[p.Zones[i].Lens].Name))
}

func (p *Plan) pauseName() string     { return p.stem() + "-paused.gcode" }
func (p *Plan) bodyName(i int) string { return fmt.Sprintf("part-%d.tmp", i) }

// stem is the original's name without folder and ending.
func (p *Plan) stem() string {
	base := filepath.Base(p.opt.Name)
	base = strings.TrimSuffix(base, filepath.Ext(base))
	return plainName(base)
}

// plainName makes a name that any file system and controller takes.
func plainName(s string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z', 'A' <= r && r <= 'Z', '0' <= r && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '_'
	}, s)
	out = strings.Trim(out, ".-")
	if out == "" {
		return "job"
	}
	const most = 60
	return out[:min(len(out), most)]
}
