package job

import (
	"strings"

	"sagitta/internal/clearance"
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
	if j.KeepOut != "" {
		if j.Boxes, err = read(open, j.KeepOut, file.ReadKeepOut); err != nil {
			return err
		}
	}
	h := clearance.Head{Boxes: j.Boxes}
	var standoff *float64
	if r := j.Lenses[0].Record; r != nil {
		standoff = r.StandoffMM
	}
	take := func(to, from *float64, field string) (missing []string) {
		if from == nil {
			return []string{field}
		}
		*to = *from
		return nil
	}
	j.Missing = take(&h.Standoff, standoff, "standoff_mm of the lens record")
	missing := append(take(&h.Radius, j.Machine.HeadRadiusMM, "head_radius_mm"), take(&h.Gap, j.Machine.GapMinMM, "gap_min_mm")...)
	if missing != nil {
		j.Missing = append(j.Missing, strings.Join(missing, " and ")+" of the machine profile")
	}
	if j.Missing == nil {
		j.Known = &h
	}
	return nil
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
