package rewrite

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// zSpeller spells the Z words of a run, whose programmed Z is z.
type zSpeller struct {
	p   *Pen
	z   float64
	st  *machine.State
	dec int8
	// scale is the decimals' power of ten where numbers may be worked out in
	// short: whole decimals of a mm; 0 elsewhere. unit is one decimal and whole
	// is z, in the smallest parts of an offset.
	scale, unit, whole float64
}

func newZSpeller(p *Pen, it *stream.Item) zSpeller {
	st := &it.During
	s := zSpeller{p: p, z: it.Move.From.Z, st: st, dec: p.opt.decimals(st.Inches)}
	if !st.Inches && (st.Relative || st.Offset.Z == 0) && !p.coarse[0] && math.Abs(s.z) < shortestZ {
		s.scale = math.Pow10(int(s.dec))
		s.unit, s.whole = snap/s.scale, math.RoundToEven(s.z*snap)
	}
	return s
}

const (
	// shortestZ bounds the Z in mm that are worked out in short.
	shortestZ = 1e4
	// clearOfHalf is how near a half a decimal may be to be rounded in short.
	clearOfHalf = 0.5 - 1e-6
)

// wholeStart is where Z stands, in decimals, NaN where it stands between two.
func (s *zSpeller) wholeStart() float64 {
	at := math.RoundToEven(s.p.off*snap) + s.whole
	if start := math.RoundToEven(at / s.unit); start*s.unit == at && math.Abs(s.p.off) < shortestZ {
		return start
	}
	return math.NaN()
}

// number gives the Z word that leads to the offset want, and the offset that it
// does lead to, as zNumber and reached have them.
func (s *zSpeller) number(want float64) (program.Number, float64) {
	if v := (s.z + want) * s.scale; s.scale > 0 && math.Abs(want) < shortestZ {
		n := math.RoundToEven(v)
		start := 0.0
		if s.st.Relative {
			start = s.wholeStart()
		}
		if math.Abs(v-n) < clearOfHalf && start == start {
			// Below shortestZ all of this is exact but for the division, so
			// that it is snapped(n/scale - z).
			return program.Number{Mant: int64(n - start), Dec: s.dec}, (n*s.unit - s.whole) / snap
		}
	}
	num := s.p.zNumber(s.z+want, s.z, s.dec, s.st)
	return num, s.p.reached(num, s.z, s.z, s.st)
}
