package stream

import (
	"math"
	"sort"

	"sagitta/internal/surface"
)

// extend takes vertex k, the next, into the segment, or begins another with it.
func (r *runBuilder) extend(k int) {
	v := &r.s.batch.vertices[k]
	seg, forward := uint8(askew), false
	switch {
	case v.Y == r.y:
		seg, forward = alongX, v.X > r.x
	case v.X == r.x:
		seg, forward = alongY, v.Y > r.y
	}
	if seg == askew && r.extendAskew(k) {
		return
	}
	if k == r.segFirst || seg == askew || seg != r.seg || forward != r.forward || k-r.segFirst >= runLines {
		r.closeSegment()
		r.seg, r.forward, r.segFirst = seg, forward, k
		r.segD, r.segX, r.segY = r.d, r.x, r.y
	}
	r.taken = k + 1
	r.d, r.x, r.y = v.D, v.X, v.Y
}

// extendAskew takes vertex k, the end of a line askew, and reports whether it could:
// one that leaves a cell of the surface is a segment of its own.
func (r *runBuilder) extendAskew(k int) bool {
	r.closeSegment()
	v := &r.s.batch.vertices[k]
	if math.IsNaN(r.start.H) || r.s.opt.Surface == nil {
		return false // the first of a run asks for the height of its start
	}
	r.cursor.Stand(r.x, r.y)
	h, up, down, ok := r.cursor.To(v.X, v.Y)
	if !ok || up+down > r.s.opt.Tolerance {
		return false
	}
	less := r.cursor.Less(r.x, r.y)
	r.taken, r.segFirst = k+1, k+1
	r.d, r.x, r.y = v.D, v.X, v.Y
	r.breakAt(breakpoint{Sample{v.D, h}, up, down, less}, k+1)
	return true
}

// closeSegment takes the heights along the segment into the run.
func (r *runBuilder) closeSegment() {
	if r.taken == r.segFirst {
		return
	}
	if on := r.s.opt.Surface; on != nil {
		r.pieces = on.AppendLine(r.pieces[:0], r.segX, r.segY, r.x, r.y, r.s.opt.Tolerance, 0)
	} else {
		r.pieces = append(r.pieces[:0], surface.Piece{S1: 1})
	}
	for k := range r.pieces {
		if r.pieces[k].Where != surface.On {
			r.offSurface()
			return
		}
	}
	if math.IsNaN(r.start.H) {
		r.start.H, r.good.H = r.pieces[0].H0, r.pieces[0].H0
	}
	length := r.d - r.segD
	for k := range r.pieces {
		pc := &r.pieces[k]
		d, e := r.d, r.taken
		if k < len(r.pieces)-1 {
			d = r.segD + length*pc.S1
			e = r.last + sort.Search(r.taken-r.last, func(i int) bool { return r.s.batch.vertices[r.last+i].D > d })
		}
		r.breakAt(breakpoint{Sample{d, pc.H1}, pc.Up, pc.Down, pc.Less}, e)
	}
	r.segFirst = r.taken
}

// breakAt takes the stretch to the breakpoint p, which the first e vertices lie
// before.
func (r *runBuilder) breakAt(p breakpoint, e int) {
	if n := len(r.breaks); n > 0 && r.breaks[n-1].less != p.less {
		// A run is no surer than any of its heights: it ends here, and the line that
		// goes across is one of its own.
		if r.last > r.first {
			r.emit(r.last, r.good)
		}
		r.crossing = len(r.breaks) > 0
	}
	r.breaks = append(r.breaks, p)
	if r.crossing && e > r.last {
		r.crossing = false
		r.emit(r.first+1, r.sample(r.s.batch.vertices[r.first].D))
	}
	for e > r.last {
		to, stop := p.Sample, r.soon(e)
		late := stop <= r.last
		if late {
			stop = e
		}
		if d := r.s.batch.vertices[stop-1].D; d < p.D {
			to = r.sample(d)
		}
		if d, h := to.D-r.start.D, to.H-r.start.H; !late && r.least*d <= h && h <= r.most*d {
			r.last, r.good = stop, to
			if stop < e || stop-r.first >= runLines || len(r.breaks) >= runBreaks {
				r.emit(stop, to)
			}
			if stop < e {
				continue
			}
			break
		}
		if r.last > r.first {
			r.emit(r.last, r.good)
		} else {
			r.emit(r.first+1, r.sample(r.s.batch.vertices[r.first].D))
		}
		for k := range r.breaks {
			if r.breaks[k].D >= to.D {
				break
			}
			r.narrow(r.breaks[k].Sample)
		}
	}
	r.narrow(p.Sample)
}

// soon is the last vertex up to vertex e where the run ends soon enough, or has one line.
func (r *runBuilder) soon(e int) int {
	if r.s.opt.RunSeconds <= 0 {
		return e
	}
	far := r.start.D + r.s.opt.RunSeconds/r.secondsPerMM
	n := sort.Search(e-r.first, func(i int) bool { return r.s.batch.vertices[r.first+i].D > far })
	return r.first + max(1, n)
}

// narrow keeps the slopes that pass within tolerance of a breakpoint.
func (r *runBuilder) narrow(p Sample) {
	if d := p.D - r.start.D; d > 0 {
		r.least = max(r.least, (p.H-r.s.opt.RunTolerance-r.start.H)/d)
		r.most = min(r.most, (p.H+r.s.opt.RunTolerance-r.start.H)/d)
	}
}

// sample is the place at d, which a breakpoint lies behind.
func (r *runBuilder) sample(d float64) Sample {
	from := r.start
	for k := range r.breaks {
		p := &r.breaks[k]
		if p.D >= d {
			if p.D == from.D {
				return Sample{d, p.H}
			}
			return Sample{d, from.H + (p.H-from.H)*((d-from.D)/(p.D-from.D))}
		}
		from = p.Sample
	}
	return Sample{d, from.H}
}

// restart lets the run begin at a place, with the breakpoints behind it.
func (r *runBuilder) restart(at Sample) {
	r.start, r.good = at, at
	r.least, r.most = math.Inf(-1), math.Inf(1)
	k := 0
	for k < len(r.breaks) && r.breaks[k].D <= at.D {
		k++
	}
	r.breaks = r.breaks[:copy(r.breaks, r.breaks[k:])]
}
