package zone

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// close writes what goes with the programs, and deletes what was only
// needed on the way.
func (s *splitter) close() error {
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
		if err := s.followWithin(); err != nil {
			return err
		}
	}
	if err := s.p.Write(s.dir); err != nil {
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

func (p *Plan) bodyName(i int) string { return fmt.Sprintf("part-%d.tmp", i) }

// name is the original's name without folder, in two: before its ending and from
// there on. What comes from standard input is a job.
func (p *Plan) name() (stem, ending string) {
	base := filepath.Base(p.opt.Name)
	ending = filepath.Ext(base)
	stem = strings.TrimSuffix(base, ending)
	if stem == "" || stem == "-" || base == string(filepath.Separator) {
		return "job", ".gcode"
	}
	return stem, ending
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
