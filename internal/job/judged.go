package job

import (
	"fmt"

	"sagitta/internal/phrase"
	"sagitta/internal/recheck"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Judge judges readings of the stock under a program. Where a touch tool sits beside the
// beam, what a controller logs are places of the beam: stock that lies as it was measured
// would seem to lie aside by as much. A sheet names its columns and has the places that were
// touched. Where readings bear the surface out the one way and not the other, that is how
// they are.
func Judge(j *Job, name string, r *touch.Reading) (*recheck.Question, *recheck.Answer, error) {
	q := Question(j, name, r)
	beside := j.Machine.ProbeOffsetMM
	if beside[0] == 0 && beside[1] == 0 {
		a, err := recheck.Judge(q, r.Points)
		return q, a, err
	}
	touched := make([]surface.Point, len(r.Points))
	for k, p := range r.Points {
		p.X, p.Y = p.X+beside[0], p.Y+beside[1]
		touched[k] = p
	}
	ways := [2][]surface.Point{touched, r.Points}
	logged := r.ColumnsFrom != touch.ByNames
	if !logged {
		ways[0], ways[1] = ways[1], ways[0]
	}
	a, err := recheck.Judge(q, ways[0])
	if err != nil || !a.Holds() {
		if other, failed := recheck.Judge(q, ways[1]); failed == nil && (err != nil || other.Holds()) {
			a, err, logged = other, nil, !logged
		}
	}
	if err == nil && logged {
		j.Note(fmt.Sprintf("assumed: the places of %s are those of the beam, as a controller logs them: the touch tool sits at %s from it (probe_offset_mm)", name, phrase.XY(beside[0], beside[1])))
	}
	return q, a, err
}
