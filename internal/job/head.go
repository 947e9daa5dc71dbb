package job

import (
	"strings"

	"sagitta/internal/clearance"
	"sagitta/internal/record"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/verify"
)

// Head is what is known of the head, and what it must keep clear of.
type Head struct {
	// Boxes are those of --keep-out.
	Boxes []surface.Box
	// Known is the head, nil where it is not known; Missing then names the
	// fields that are wanting.
	Known   *clearance.Head
	Missing []string
}

// knowHead reads the boxes, and finds out what is known of the head.
func (j *Job) knowHead(open Source) (err error) {
	var boxes []surface.Box
	if j.KeepOut != "" {
		if boxes, err = read(open, j.KeepOut, file.ReadKeepOut); err != nil {
			return err
		}
	}
	j.Head = HeadWith(j.Machine, j.Lenses[0].Record, boxes)
	return nil
}

// HeadWith is what is known of the head of a bench with a lens, nil where there
// is no record of it, among boxes.
func HeadWith(m *record.Machine, lens *record.Lens, boxes []surface.Box) Head {
	h := Head{Boxes: boxes}
	if lens == nil || lens.StandoffMM == nil {
		h.Missing = append(h.Missing, "standoff_mm of the lens record")
	}
	var fields []string
	if m.HeadRadiusMM == nil {
		fields = append(fields, "head_radius_mm")
	}
	if m.GapMinMM == nil {
		fields = append(fields, "gap_min_mm")
	}
	if fields != nil {
		h.Missing = append(h.Missing, strings.Join(fields, " and ")+" of the machine profile")
	}
	if h.Missing == nil {
		h.Known = &clearance.Head{Radius: *m.HeadRadiusMM, Gap: *m.GapMinMM, Standoff: *lens.StandoffMM, Boxes: boxes}
	}
	return h
}

// tip is the tip of the head as zones have it, nil where it is not known; how
// high it stands is each lens's.
func (j *Job) tip() *clearance.Head {
	return HeadWith(j.Machine, &record.Lens{StandoffMM: new(float64)}, j.Boxes).Known
}

// HeadOf is the head as verify has it, with a lens; nil where it is not
// known.
func (j *Job) HeadOf(l *Lens) *verify.Head {
	h := HeadWith(j.Machine, l.Record, j.Boxes).Known
	if h == nil {
		return nil
	}
	return &verify.Head{RadiusMM: h.Radius, StandoffMM: h.Standoff, GapMM: h.Gap, Boxes: h.Boxes}
}
