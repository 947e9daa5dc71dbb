package cover

import (
	"math"
	"slices"

	"sagitta/internal/surface"
)

// rounding covers what float64 loses in a few operations on heights and
// lengths of a bench, in mm.
const rounding = 1e-7

// Stretch is a part of a burn, up to the fraction End, that the same N
// settings serve, from First on.
type Stretch struct {
	End      float64
	First, N int
	// Miss is by how much, in mm, the nearest setting misses it where none
	// serves it; that is then its only one.
	Miss float64
	// middle tells that it begins in the middle of where its settings serve.
	middle bool
}

// Divider divides burns into stretches.
type Divider struct {
	// At is the fraction of a stretch that several settings serve at which the path
	// may change, beside its ends; 0 stands for its middle.
	At                float64
	stretches, halves []Stretch
	edges             []float64
}

// Divide gives the stretches in order of a burn over pieces. A stretch that
// several settings serve is given in two, so that the path may change within
// it, at the fraction At or as near to it as is the fraction margin from the burn's ends.
// What it gives holds until the next call.
func (d *Divider) Divide(pieces []surface.Piece, s Bands, margin float64) []Stretch {
	d.stretches = d.stretches[:0]
	for k := range pieces {
		d.piece(&pieces[k], s)
	}
	return d.halve(margin)
}

// piece adds the stretches of a piece: it is cut where its height, less or
// plus what is not certain of it, passes an end of a setting.
func (d *Divider) piece(pc *surface.Piece, settings Bands) {
	up, down := pc.Up+float64(pc.Less), pc.Down+float64(pc.Less)
	lo, hi := min(pc.H0, pc.H1)-down, max(pc.H0, pc.H1)+up
	rise := pc.H1 - pc.H0
	d.edges = append(d.edges[:0], 0, 1)
	if math.Abs(rise) > rounding {
		for _, b := range settings {
			if b.Hi < lo || b.Lo > hi {
				continue
			}
			for _, e := range [2]float64{b.Lo + down, b.Hi - up} {
				if t := (e - pc.H0) / rise; t > 0 && t < 1 {
					d.edges = append(d.edges, t)
				}
			}
		}
		slices.Sort(d.edges)
	}
	for i, t1 := range d.edges[1:] {
		t0 := d.edges[i]
		if t1 <= t0 {
			continue
		}
		h0, h1 := pc.H0+rise*t0, pc.H0+rise*t1
		// The ends are on the ends of settings but for rounding.
		h := Span{min(h0, h1) - down + rounding, max(h0, h1) + up - rounding}
		if h.Lo > h.Hi {
			h.Lo = (h.Lo + h.Hi) / 2
			h.Hi = h.Lo
		}
		st := Stretch{End: pc.S0 + (pc.S1-pc.S0)*t1}
		if t1 == 1 {
			st.End = pc.S1
		}
		if st.First, st.N = settings.Serving(h); st.N == 0 {
			st.N = 1
			st.First, st.Miss = settings.nearest(h)
		}
		d.push(st)
	}
}

// push adds a stretch, or lets the last go on with it.
func (d *Divider) push(st Stretch) {
	if n := len(d.stretches); n > 0 {
		if last := &d.stretches[n-1]; last.First == st.First && last.N == st.N {
			last.End, last.Miss = st.End, max(last.Miss, st.Miss)
			return
		}
	}
	d.stretches = append(d.stretches, st)
}

// halve divides the stretches that several settings serve.
func (d *Divider) halve(margin float64) []Stretch {
	d.halves = d.halves[:0]
	begin, at := 0.0, d.At
	if at == 0 {
		at = 0.5
	}
	for _, st := range d.stretches {
		if st.N > 1 {
			mid := begin + at*(st.End-begin)
			first := st
			first.End = min(max(mid, min(margin, st.End)), max(1-margin, begin))
			d.halves = append(d.halves, first)
			st.middle = true
		}
		d.halves = append(d.halves, st)
		begin = st.End
	}
	return d.halves
}
