package touch

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Part is one file of a surface that was touched in rounds.
type Part struct {
	Name string
	*Reading
	// Before is how many lines the files before it have: a line of the joined reading is
	// so many more than that of the file.
	Before int
	// Repeated touches of the file are in RepeatedFrom, a file before it, as well, and are
	// counted there alone.
	Repeated     int
	RepeatedFrom string
}

// Join makes one reading of the files of a surface that was touched in rounds, in their
// order; one file stays what it is. Heights are as they were read. The nodes of grids
// become touches. A later file that has the touches of an earlier one too counts for what
// else it has. It returns a *diag.Error where files contradict one another, or one has
// nothing that is not in another.
func Join(parts []Part) (*Reading, error) {
	if len(parts) == 1 {
		return parts[0].Reading, nil
	}
	if err := agree(parts); err != nil {
		return nil, err
	}
	parts, err := withoutRepeated(parts)
	if err != nil {
		return nil, err
	}
	r := &Reading{Parts: parts}
	alike := func(of func(*Reading) string) string {
		var all []string
		for _, p := range parts {
			all = append(all, of(p.Reading))
		}
		slices.Sort(all)
		return strings.Join(slices.Compact(all), "; ")
	}
	r.Columns = alike(func(r *Reading) string { return r.Columns })
	r.Decimal = alike(func(r *Reading) string { return r.Decimal })
	r.Units = alike(func(r *Reading) string { return r.Units })
	r.Heights = alike(func(r *Reading) string { return r.Heights })
	for k := range r.Parts {
		p := &r.Parts[k]
		p.Before = r.Lines
		r.Lines += p.Lines
		r.IgnoredCount += p.IgnoredCount
		if r.ResolutionMM == 0 || p.ResolutionMM < r.ResolutionMM {
			r.ResolutionMM = p.ResolutionMM // few heights may all end in noughts
		}
		for _, q := range p.Points {
			q.Line += p.Before
			r.Points = append(r.Points, q)
		}
		h := p.Header
		r.Header.NoiseMM = max(r.Header.NoiseMM, h.NoiseMM)
		for _, f := range joinedLines {
			if f.said(&h) != "" {
				f.take(&r.Header, &h)
			}
		}
	}
	return r, nil
}

// joinedLines are the header lines that must be the same in all files that say them.
var joinedLines = []struct {
	name string
	said func(*surface.Header) string // "" where it is not
	take func(to, from *surface.Header)
}{
	{"datum", func(h *surface.Header) string { return saidPlace(h.Datum) }, func(to, from *surface.Header) { to.Datum = from.Datum }},
	{"wraps_y_mm", func(h *surface.Header) string { return saidNumber(h.WrapsYMM) }, func(to, from *surface.Header) { to.WrapsYMM = from.WrapsYMM }},
	{"method", func(h *surface.Header) string { return h.Method }, func(to, from *surface.Header) { to.Method = from.Method }},
	{"shift_mm", func(h *surface.Header) string { return saidPlace(h.Shift) }, func(to, from *surface.Header) { to.Shift = from.Shift }},
	{"rotate_deg", func(h *surface.Header) string { return saidNumber(h.RotateDeg) }, func(to, from *surface.Header) { to.RotateDeg = from.RotateDeg }},
}

func saidPlace(p *[2]float64) string {
	if p == nil {
		return ""
	}
	return "X" + phrase.Trimmed(p[0], 6) + " Y" + phrase.Trimmed(p[1], 6)
}

func saidNumber(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// agree refuses files that contradict one another, and the same touches twice.
func agree(parts []Part) error {
	fail := func(p Part, hint, format string, args ...any) error {
		return &diag.Error{Place: diag.Place{File: p.Name, Line: 1, Col: 1}, What: fmt.Sprintf(format, args...), Hint: hint}
	}
	for k, p := range parts {
		if len(p.Points) == 0 {
			return fail(p, "", "no height in the file")
		}
		for _, q := range parts[:k] {
			if p.Digest == q.Digest {
				return fail(p, "give each round of touches once", "the same file as %s, byte for byte: the same touches twice are no repeats", phrase.Printable(q.Name))
			}
			for _, f := range joinedLines {
				a, b := f.said(&q.Header), f.said(&p.Header)
				if a != "" && b != "" && a != b {
					return fail(p, "files that are joined are of one surface in one place: make the two lines the same, or take one out",
						"%s is %s here and %s in %s", f.name, b, a, phrase.Printable(q.Name))
				}
			}
		}
	}
	return nil
}

// Where gives the file that a line of the reading is of, "" where there is one only, and
// the line in it. A line of 0 stays one.
func (r *Reading) Where(line int) (file string, own int) {
	if line > 0 {
		for k := len(r.Parts) - 1; k >= 0; k-- {
			if p := &r.Parts[k]; line > p.Before {
				return p.Name, line - p.Before
			}
		}
	}
	return "", line
}
