package cli

import (
	"errors"
	"fmt"
	"math"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/focus"
	"sagitta/internal/job"
)

// candidate is a lens to judge, and how other commands are told of it.
type candidate struct {
	advise.Lens
	option string // -l FILE, or --depth
	value  string
}

// candidates reads the lenses. One whose record has no depth, or whose depth
// is used up by what is not certain, is out, and the only one is refused.
func (s *session) candidates(l *loaded, detail float64) ([]candidate, error) {
	if l.o.depth != "" {
		if err := l.loadDepth(s); err != nil {
			return nil, err
		}
		c := candidate{Lens: advise.Lens{Name: "given as --depth"}, option: "--depth", value: l.o.depth}
		err := l.usable(&c, l.budget.Lens, "--depth")
		return []candidate{c}, err
	}
	var list []candidate
	var last error
	in := 0
	for _, file := range l.o.lenses {
		c, err := s.candidate(l, file, detail)
		if c == nil {
			return nil, err
		}
		for i := range list {
			if list[i].Name == c.Name {
				return nil, usagef("give each record a name of its own", "two lenses are called %s", c.Name)
			}
		}
		if err != nil {
			c.Out, last = err.Error(), err
			fmt.Fprintf(s.stderr, "sagitta: lens %s is out: %v\n", c.Name, err)
		} else {
			in++
		}
		list = append(list, *c)
	}
	if in == 0 {
		return nil, last
	}
	return list, nil
}

// candidate reads a lens. With the error the candidate is nil where nothing
// can go on, and else out.
func (s *session) candidate(l *loaded, file string, detail float64) (*candidate, error) {
	r, err := files.Read(s.files, file, job.ReadLens)
	if err != nil {
		return nil, err
	}
	c := &candidate{Lens: advise.Lens{Name: r.Name}, option: "-l", value: file}
	if r.SmallestDetailMM != nil {
		c.DetailMM = *r.SmallestDetailMM
	}
	waist, _, beam := r.Beam()
	c.Assumed = beam && r.DepthMM == nil
	c.Marks = func(mm float64) (string, bool) {
		// Only a spot that is known to be too wide tells against a lens.
		if d, ok := r.DepthFor(mm); ok || !d.Assumed {
			return "", true
		}
		most := mm / job.StrokesOfDetail
		return fmt.Sprintf("its spot of %.3g mm is %.2g mm wider than the %.2g mm that a detail of %.3g mm allows, even at best focus", waist, waist-most, most, mm), false
	}
	d, ok := r.Depth()
	if !ok {
		return c, withoutDepth(file, d)
	}
	if d.Assumed {
		fmt.Fprintf(s.stderr, "sagitta: assumed: the depth of lens %s is %s mm, from %s\n", r.Name, sidesOf(d.Near, d.Far), d.From)
	}
	if f, ok := r.DepthFor(detail); detail > 0 && r.DepthMM == nil && ok && (f.Near < d.Near || f.Far < d.Far) {
		d.Near, d.Far = math.Min(d.Near, f.Near), math.Min(d.Far, f.Far)
		fmt.Fprintf(s.stderr, "sagitta: assumed: for a detail of %.3g mm only %s mm of it, from %s\n", detail, sidesOf(d.Near, d.Far), f.From)
		c.option, c.value = "--depth", fmt.Sprintf("-%.4g,%.4g", d.Near, d.Far)
	}
	err = l.usable(c, d.Depth, file+", "+d.From)
	if err != nil && !errors.Is(err, focus.ErrSpent) {
		return nil, err
	}
	return c, err
}

// usable works out the usable depths of a lens.
func (l *loaded) usable(c *candidate, d focus.Depth, from string) (err error) {
	b := l.budget
	b.Lens, b.LensFrom = d, from
	if c.Writing, err = b.Usable(focus.Writing); err == nil {
		c.Checking, err = b.Usable(focus.Checking)
	}
	return err
}
