package set

import (
	"io"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// Dark holds the programs of a set of rehearsals to this alone: the beam is off
// in every motion, at every wait and at the end. What does not hold is in the
// result; the error is as verify.Run's.
func Dark(s *Set, open func(program string) (io.ReadCloser, error), cfg machine.Config) (*Result, error) {
	res := &Result{}
	for i := range s.Zones {
		name := s.Zones[i].Program
		j := &verify.Judge{Res: &verify.Result{}, Opt: verify.Options{Bench: bench.Bench{Machine: cfg}, Rehearsal: true}}
		res.Zones, res.programs = append(res.Zones, j.Res), append(res.programs, name)
		f, err := open(name)
		if err != nil {
			return nil, err
		}
		err = j.Dark(verify.NewStream(f, name, cfg, true))
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			return nil, err
		}
	}
	return res, nil
}
