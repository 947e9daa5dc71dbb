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
	h, known := Head{Boxes: boxes}, clearance.Head{Boxes: boxes}
	var standoff *float64
	if lens != nil {
		standoff = lens.StandoffMM
	}
	take := func(to, from *float64, field string) (missing []string) {
		if from == nil {
			return []string{field}
		}
		*to = *from
		return nil
	}
	h.Missing = take(&known.Standoff, standoff, "standoff_mm of the lens record")
	missing := append(take(&known.Radius, m.HeadRadiusMM, "head_radius_mm"), take(&known.Gap, m.GapMinMM, "gap_min_mm")...)
	if missing != nil {
		h.Missing = append(h.Missing, strings.Join(missing, " and ")+" of the machine profile")
	}
	if h.Missing == nil {
		h.Known = &known
	}
	return h
}

// tip is the tip of the head as zones have it, nil where it is not known; how
// high it stands is each lens's.
func (j *Job) tip() *clearance.Head {
	radius, gap := j.Machine.HeadRadiusMM, j.Machine.GapMinMM
	if radius == nil || gap == nil {
		return nil
	}
	return &clearance.Head{Radius: *radius, Gap: *gap, Boxes: j.Boxes}
}

// HeadOf is the head as verify has it, with a lens; nil where it is not
// known.
func (j *Job) HeadOf(l *Lens) *verify.Head {
	radius, gap := j.Machine.HeadRadiusMM, j.Machine.GapMinMM
	if radius == nil || gap == nil || l.Record == nil || l.Record.StandoffMM == nil {
		return nil
	}
	return &verify.Head{RadiusMM: *radius, StandoffMM: *l.Record.StandoffMM, GapMM: *gap, Boxes: j.Boxes}
}
