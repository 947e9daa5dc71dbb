package ladder

import (
	"bytes"
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/record"
)

// BenchOf is what a ladder needs of a machine profile, best focus being at
// startZ mm.
func BenchOf(m *record.Machine, startZ float64) Bench {
	b := Bench{
		Machine: m.Config(nil, startZ), ZPlusAway: m.ZPlus == record.Away, ByHand: m.ZMoves == record.ZByHand,
		ZMinMM: m.ZMinMM, ZMaxMM: m.ZMaxMM, SMax: m.SMax,
		DecimalsMM: int8(m.DecimalsMM()), DecimalsInch: int8(m.DecimalsInch()),
		Comments: m.Comments, Numbered: m.Numbered,
	}
	for _, x := range []struct{ to, from *float64 }{
		{&b.CrankMM, m.ZStepMM}, {&b.ResolutionMM, m.ZResolutionMM},
		{&b.BacklashMM, m.ZBacklashMM}, {&b.FeedMaxMMMin, m.FeedMaxMMMin},
	} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	if m.LineMax != nil {
		b.LineMax = *m.LineMax
	}
	return b
}

// Readback is what a program turns out to do when it is read: its time, and
// the range of its Z in mm.
type Readback struct{ Seconds, ZLow, ZHigh float64 }

// ReadBack reads a ladder's program.
func (b *Bench) ReadBack(text []byte) (Readback, error) {
	ip := machine.New(b.Machine)
	r := program.NewReader(bytes.NewReader(text), "ladder")
	found := Readback{ZLow: b.Machine.Start.Z, ZHigh: b.Machine.Start.Z}
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
