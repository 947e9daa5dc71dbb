package ladder

import (
	"bytes"
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// Readback is what a program turns out to do when it is read: its time, and
// the range of its Z in mm.
type Readback struct{ Seconds, ZLow, ZHigh float64 }

// ReadBack reads the program of a ladder with these options.
func (o *Options) ReadBack(text []byte) (Readback, error) {
	ip := machine.New(o.Machine.Config(nil, o.StartZMM))
	r := program.NewReader(bytes.NewReader(text), "ladder")
	found := Readback{ZLow: o.StartZMM, ZHigh: o.StartZMM}
	for {
		block, err := r.Next()
		if errors.Is(err, io.EOF) {
			return found, nil
		}
		var m machine.Move
		if err == nil {
			err = ip.Step(block, &m)
		}
		if err != nil {
			return found, err
		}
		found.Seconds += m.Seconds
		found.ZLow, found.ZHigh = min(found.ZLow, m.To.Z), max(found.ZHigh, m.To.Z)
	}
}
