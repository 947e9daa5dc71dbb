package job

import (
	"io"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/record"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// Head is what is known of the head, and what it must keep clear of.
type Head struct {
	// Boxes are those of --keep-out.
	Boxes []surface.Box
	// FreedMM is how high a piece may stand up that is cut free, 0 where that is not said.
	FreedMM float64
	// Pieces are those that the program cuts free, where they count from the beginning;
	// nil where each counts from when it is cut.
	Pieces []surface.Box
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
	return Head{Boxes: boxes}.with(m, lens), nil
}

// with is the head of a bench with a lens among what it must keep clear of.
func (h Head) with(m *record.Machine, lens *record.Lens) Head {
	h.Known, h.Missing = nil, nil
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
		h.Known = &bench.Head{Radius: steps[0][0], Gap: *m.GapMinMM, Standoff: *lens.StandoffMM, Boxes: slices.Concat(h.Boxes, h.Pieces)}
		if h.FreedMM > 0 && h.Pieces == nil {
			h.Known.FreedMM = &h.FreedMM
		}
		for _, s := range steps[1:] {
			h.Known.Above = append(h.Known.Above, bench.Disk{Radius: s[0], Up: s[1]})
		}
	}
	return h
}

// HeadOf is the head with a lens; nil where it is not known.
func (j *Job) HeadOf(l *Lens) *bench.Head {
	return j.Head.with(j.Machine, l.Record).Known
}

// StandUp lets all that the program cuts free stand up from the beginning, as programs
// that are run one after the other want it: which of them comes first is nobody's
// business then. Where pieces do not count it does nothing, not even read.
func (j *Job) StandUp(program io.ReadSeeker, name string) error {
	if j.FreedMM == 0 {
		return nil
	}
	o := j.writing(name, "split")
	pieces := []surface.Box{}
	c := stream.Closed{Free: func(about orb.Bound) {
		pieces = append(pieces, clearance.Piece(j.Placed, about.Pad(o.Lateral()), j.FreedMM, pieceTolerance))
	}}
	if err := stream.Scan(program, stream.Options{Name: name, Machine: j.Config}, c.Take); err != nil {
		return err
	}
	c.End()
	j.stand(pieces)
	_, err := program.Seek(0, io.SeekStart)
	return err
}

// pieceTolerance in mm is within what the highest under a piece is bounded.
const pieceTolerance = 1e-3

// stand lets pieces stand up from the beginning.
func (j *Job) stand(pieces []surface.Box) {
	var lens *record.Lens
	if len(j.Lenses) > 0 {
		lens = j.Lenses[0].Record
	}
	j.Pieces, j.found = pieces, nil
	j.Head = j.Head.with(j.Machine, lens)
}
