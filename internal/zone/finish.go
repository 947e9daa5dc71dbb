package zone

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// partsFolder is the folder of what is only needed on the way to the programs.
const partsFolder = "parts"

// close gives the programs their names, and writes what goes with them.
func (s *splitter) close() error {
	if err := s.err(); err != nil {
		return err
	}
	s.dropEmpty()
	for _, o := range s.outs {
		if b := o.z.Lines.Bound(); !b.IsEmpty() {
			o.z.Bound = b
		}
		if s.opt.Pause {
			continue
		}
		finish := func(name string) error { return os.Rename(string(o.file), name) }
		if s.opt.Within != nil {
			finish = o.followWithin
		}
		if err := finish(filepath.Join(s.dir, o.z.Program)); err != nil {
			return err
		}
	}
	if err := s.p.Write(s.dir); err != nil {
		return err
	}
	for i := range s.p.Zones {
		s.p.Zones[i].Lines = nil
	}
	return os.RemoveAll(filepath.Join(s.dir, partsFolder))
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
