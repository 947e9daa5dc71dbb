package job

import (
	"strings"

	"sagitta/internal/bench"
	"sagitta/internal/record"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// Head is what is known of the head, and what it must keep clear of.
type Head struct {
	// Boxes are those of --keep-out.
	Boxes []surface.Box
	// FreedMM is how high a piece may stand up that is cut free, 0 where that is not said.
	FreedMM float64
	// Known is the head, nil where it is not known; Missing then names the
	// fields that are wanting.
	Known   *bench.Head
	Missing []string
}

// ReadHead reads the boxes of a file, where one is given, and finds out what is
// known of the head of a bench with a lens, nil where there is no record of it.
func ReadHead(open Source, keepOut string, m *record.Machine, lens *record.Lens) (Head, error) {
	var boxes []surface.Box
	if keepOut != "" {
		var err error
		if boxes, err = Read(open, keepOut, file.ReadKeepOut); err != nil {
			return Head{}, err
		}
	}
	return headWith(m, lens, boxes, 0), nil
}

func headWith(m *record.Machine, lens *record.Lens, boxes []surface.Box, freed float64) Head {
	h := Head{Boxes: boxes, FreedMM: freed}
	if lens == nil || lens.StandoffMM == nil {
		h.Missing = append(h.Missing, "standoff_mm of the lens record")
	}
	var fields []string
	steps := m.Head()
	if steps == nil {
		fields = append(fields, "head_radius_mm")
	}
	if m.GapMinMM == nil {
		fields = append(fields, "gap_min_mm")
	}
	if fields != nil {
		h.Missing = append(h.Missing, strings.Join(fields, " and ")+" of the machine profile")
	}
	if h.Missing == nil {
		h.Known = &bench.Head{Radius: steps[0][0], Gap: *m.GapMinMM, Standoff: *lens.StandoffMM, Boxes: boxes}
		if freed > 0 {
			h.Known.FreedMM = &freed
		}
		for _, s := range steps[1:] {
			h.Known.Above = append(h.Known.Above, bench.Disk{Radius: s[0], Up: s[1]})
		}
	}
	return h
}

// HeadOf is the head with a lens; nil where it is not known.
func (j *Job) HeadOf(l *Lens) *bench.Head {
	return headWith(j.Machine, l.Record, j.Boxes, j.FreedMM).Known
}
