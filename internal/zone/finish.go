package zone

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/rewrite"
	"sagitta/internal/zone/sheet"
)

// part is a file of what is only needed on the way to the programs; without a name
// their folder.
func (s *splitter) part(name string) sheet.Spool {
	return sheet.Spool(filepath.Join(s.dir, "parts", name))
}

// pausedPart is the program with stops.
const pausedPart = "paused"

// close gives the programs their names, and writes what goes with them.
func (s *splitter) close() error {
	err := s.err()
	if err != nil {
		return err
	}
	s.dropEmpty()
	for _, o := range s.outs {
		if b := o.z.Lines.Bound(); !b.IsEmpty() {
			o.z.Bound = b
		}
		switch name := filepath.Join(s.dir, o.z.Program); {
		case s.opt.Pause: // all are in one
		case s.opt.Within != nil:
			err = o.followWithin(name)
		default:
			err = os.Rename(string(o.file), name)
		}
		if err != nil {
			return err
		}
	}
	if s.opt.Pause {
		err = os.Rename(string(s.part(pausedPart)), filepath.Join(s.dir, s.p.pauseName()))
	}
	if err == nil {
		err = listPieces(s.dir, s.outs, &s.p.Made)
	}
	if err == nil {
		err = paces(s.p, s.dir)
	}
	if err == nil {
		err = times(s.p, s.dir)
	}
	if err == nil {
		err = s.digests()
	}
	if err == nil {
		err = s.p.Write(s.dir)
	}
	for i := range s.p.Zones {
		s.p.Zones[i].Lines = nil
	}
	return cmp.Or(err, os.RemoveAll(string(s.part(""))))
}

// times gives a zone the time and the waits of what a pen has written, less those that
// zones of the same program were given before.
func (s *splitter) times(o *out, pen *rewrite.Pen) {
	f := &pen.Figures
	o.z.Seconds, o.z.Waits = o.z.Seconds+f.SecondsOut, o.z.Waits+f.Waits
	if s.opt.Pause {
		o.z.Seconds, o.z.Waits = o.z.Seconds-s.told.SecondsOut, o.z.Waits-s.told.Waits
		s.told = *f
	}
}

// digests works out those of the programs.
func (s *splitter) digests() error {
	of := map[string]string{}
	for i := range s.p.Zones {
		z := &s.p.Zones[i]
		if of[z.Program] == "" {
			f, err := os.Open(filepath.Join(s.dir, z.Program))
			if err != nil {
				return err
			}
			of[z.Program], err = sheet.DigestOf(f)
			if err = cmp.Or(err, f.Close()); err != nil {
				return err
			}
		}
		z.Digest = of[z.Program]
	}
	return nil
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
func (s *splitter) dropEmpty() {
	s.p.Zones = nil
	s.outs = slices.DeleteFunc(s.inOrder(), func(o *out) bool {
		if o.begun {
			s.p.Zones = append(s.p.Zones, *o.z)
		} else {
			s.p.Lenses[o.z.Lens].Zones--
		}
		return !o.begun
	})
	for i, o := range s.outs {
		o.z = &s.p.Zones[i]
		o.z.Order = i + 1
		if !s.opt.Pause {
			o.z.Program = s.p.fileName(i)
		}
	}
}

// fileName is that of zone i's program: the original's name, the zone's order
// and its lens, and the original's ending.
func (p *Plan) fileName(i int) string {
	width := len(fmt.Sprint(len(p.Zones)))
	stem, ending := p.name()
	return fmt.Sprintf("%s-%0*d-%s%s", stem, width, p.Zones[i].Order, plainName(p.Lenses[p.Zones[i].Lens].Name), ending)
}

func (p *Plan) pauseName() string {
	stem, ending := p.name()
	return stem + "-paused" + ending
}

// name is the original's name without folder, in two: before its ending and from
// there on, cut to what a system takes with a zone and a lens between them. What
// comes from standard input is a job.
func (p *Plan) name() (stem, ending string) {
	base := filepath.Base(p.opt.Name)
	ending = filepath.Ext(base)
	stem = strings.TrimSuffix(base, ending)
	if stem == "" || stem == "-" || base == string(filepath.Separator) {
		return "job", ".gcode"
	}
	cut := func(s string, most int) string { return strings.ToValidUTF8(s[:min(len(s), most)], "") }
	return cut(stem, 140), cut(ending, 40)
}

// plainName makes a part of a file's name of any text, that any system takes.
func plainName(s string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z', 'A' <= r && r <= 'Z', '0' <= r && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '_'
	}, s)
	const most = 60
	if out = strings.Trim(out, ".-"); out == "" {
		return "lens"
	}
	return out[:min(len(out), most)]
}
