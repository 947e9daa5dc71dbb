package zone

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"sagitta/internal/program"
)

// finish decides and writes what waits, and ends the programs.
func (s *splitter) finish() error {
	s.path.settle()
	s.wait.batch = -1
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
	for _, o := range s.outs {
		if !o.begun {
			continue
		}
		o.w.flush()
		body := o.w.path
		o.w, o.z.Program = whole, name
		like := s.frame.likeOf(&s.frame.head)
		end := o.m // behind the part
		if prev == nil {
			prev = o
			o.marked, o.dark = false, false
			o.mark(like)
			s.frame.writeHead(o, o.sigma()*o.stopLow)
			o.darkness(like)
		} else {
			o.marked, o.dark = true, true
		}
		o.opt = s.opt
		s.stopAt(prev, o, like)
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

// stopAt goes on from the end of prev's part to o's focus point, and waits.
func (s *splitter) stopAt(prev, o *out, like *program.Block) {
	want := modal{beam: prev.m.beam, lit: false, known: true, inches: s.frame.end.inches, path: s.frame.end.path}
	prev.modes(&want, like, false)
	at := prev.m.at
	at.X, at.Y, at.Z = o.z.Point.X, o.z.Point.Y, o.stopLow
	prev.travel(at.X, at.Y, at.Z, like, 0, prev.sigma()*o.stopLow)
	if prev != o && prev.off != o.off {
		prev.toZ(o.stopZ, like, 0)
	}
	if s.opt.Comments {
		prev.buf = program.AppendComment(prev.buf[:0], like, fmt.Sprintf("zone %d: lens %s, set the focus here, %.3f mm over the datum", o.z.Order, o.lens.Name, o.z.Focus))
		prev.write(prev.buf)
	}
	prev.say('M', program.Int(0))
	prev.line(like)
	o.z.Stop = o.w.lines
}

// close writes what goes with the programs, and takes away what was only
// needed on the way.
func (s *splitter) close() error {
	for _, sp := range []*spool{&s.frame.head, &s.frame.lead, &s.frame.tail, &s.frame.words} {
		sp.remove()
	}
	for i, o := range s.outs {
		o.drawn.end()
		o.drawn.geo.flush()
		if o.drawn.any {
			o.z.Bound = o.drawn.bound
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
	geo := []string{}
	for _, o := range s.outs {
		geo = append(geo, o.drawn.geo.path)
	}
	if err := s.dropEmpty(); err != nil {
		return err
	}
	for _, w := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"zones.geojson", s.writeGeoJSON}, {"zones.svg", s.writeSVG}, {"set.json", s.p.writeSet}, {"sheet.txt", s.p.writeSheet},
	} {
		if err := writeFile(filepath.Join(s.dir, w.name), w.write); err != nil {
			return err
		}
	}
	for _, name := range geo {
		if err := os.Remove(name); err != nil && !os.IsNotExist(err) {
			return err
		}
	}
	return nil
}

// dropEmpty leaves out zones that no burn came to, as happens where the heights
// are a hair over what one zone less would serve.
func (s *splitter) dropEmpty() error {
	zones, outs, sketches := s.p.Zones[:0:0], s.outs[:0:0], s.sketches[:0:0]
	for i, o := range s.outs {
		if o.begun {
			zones, outs, sketches = append(zones, *o.z), append(outs, o), append(sketches, s.sketches[i])
		} else {
			s.p.Lenses[o.z.Lens].Zones--
		}
	}
	if len(zones) == len(s.p.Zones) {
		return nil
	}
	s.p.Zones, s.outs, s.sketches = zones, outs, sketches
	for i, o := range outs {
		o.z = &s.p.Zones[i]
		o.z.Order = i + 1
		if s.opt.Pause {
			continue
		}
		name := s.p.fileName(i)
		if err := os.Rename(filepath.Join(s.dir, o.z.Program), filepath.Join(s.dir, name)); err != nil {
			return err
		}
		o.z.Program = name
	}
	return nil
}

func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	err = write(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
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
	return fmt.Sprintf("%s-%0*d-%s.gcode", p.stem(), width, i+1, plainName(p.Lenses[p.Zones[i].Lens].Name))
}

func (p *Plan) pauseName() string     { return p.stem() + "-paused.gcode" }
func (p *Plan) bodyName(i int) string { return fmt.Sprintf("part-%d.tmp", i) }
func (p *Plan) geoName(i int) string  { return fmt.Sprintf("lines-%d.tmp", i) }

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
