package ladder

import (
	"bytes"

	"sagitta/internal/stream"
)

// Readback is what a program turns out to do when it is read: its time, and
// the range of its Z in mm.
type Readback struct{ Seconds, ZLow, ZHigh float64 }

// ReadBack reads the program of a ladder with these options.
func (o *Options) ReadBack(text []byte) (Readback, error) {
	found := Readback{ZLow: o.StartZMM, ZHigh: o.StartZMM}
	opt := stream.Options{Name: "ladder", Machine: o.Machine.Config(nil, o.StartZMM), Blocks: true}
	err := stream.Scan(bytes.NewReader(text), opt, func(it *stream.Item) {
		m := &it.Move
		found.Seconds += m.Seconds
		found.ZLow, found.ZHigh = min(found.ZLow, m.To.Z), max(found.ZHigh, m.To.Z)
	})
	return found, err
}
