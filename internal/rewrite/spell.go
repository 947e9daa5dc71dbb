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
	// short tells that Z may be worked out in decimals of a mm, of which scale
	// are a mm. unit is one of them, and whole is z, in the smallest parts of an
	// offset.
	short              bool
	scale, unit, whole float64
	most               float64 // shortestZ in decimals
	step               float64 // a decimal in mm
	// at is where Z stands with the offset off, in decimals: NaN where it stands
	// between two, or must not be worked out so.
	at, off float64
}

func newZSpeller(p *Pen, it *stream.Item) zSpeller {
	st := &it.During
	s := zSpeller{p: p, z: it.Move.From.Z, st: st, dec: p.dec}
	s.scale, s.step = math.Pow10(int(s.dec)), Unit(st.Inches)*math.Pow10(-int(s.dec))
	s.unit, s.whole, s.most = snap/s.scale, math.RoundToEven(s.z*snap), shortestZ*s.scale
	s.short = !st.Inches && (st.Relative || st.Offset.Z == 0) && !p.opt.Coarse(false) && math.Abs(s.z) < shortestZ
	s.off = math.NaN()
	s.stand()
	return s
}

const (
	// shortestZ bounds the Z in mm that are worked out in decimals: all of it is
	// then exact but for one division, so that it is what reached makes of it.
	shortestZ = 1e4
	// clearOfHalf is how near a half a decimal may be to be rounded so.
	clearOfHalf = 0.5 - 1e-6
)

// stand takes in where Z stands.
func (s *zSpeller) stand() {
	if s.off == s.p.off {
		return
	}
	s.off = s.p.off
	at := math.RoundToEven(s.off*snap) + s.whole
	s.at = math.RoundToEven(at / s.unit)
	if !s.short || s.at*s.unit != at || math.Abs(s.off) >= shortestZ {
		s.at = math.NaN()
	}
}

// round gives the Z of the offset want in decimals. It reports false where that
// is for exact.
func (s *zSpeller) round(want float64) (n float64, ok bool) {
	v := (s.z + want) * s.scale
	n = math.RoundToEven(v)
	return n, math.Abs(v-n) < clearOfHalf && math.Abs(v-s.at) < s.most
}

// exact gives the Z word that leads to the offset want, and the offset that it
// does lead to.
func (s *zSpeller) exact(want float64) (program.Number, float64) {
	num := s.p.zNumber(s.z, want, s.z, s.dec, s.st)
	return num, s.p.reached(num, s.z, s.z, s.st)
}

// number is exact, in decimals where that will do.
func (s *zSpeller) number(want float64) (program.Number, float64) {
	n, ok := s.round(want)
	if !ok {
		return s.exact(want)
	}
	mant := n
	if s.st.Relative {
		mant -= s.at
	}
	to := (n*s.unit - s.whole) / snap
	if math.Abs(to) < shortestZ {
		s.off, s.at = to, n
	}
	return program.Number{Mant: int64(mant), Dec: s.dec}, to
}
