package stream

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// emit makes an item of the run up to vertex e, which ends at the place to, or
// blocks of its lines where a run does not do, and begins the next run there.
func (r *runBuilder) emit(e int, to Sample) {
	if r.standsAlone(e) {
		r.blocks(r.first, e)
	} else {
		r.emitRun(e, to)
	}
	r.first, r.last = e, max(r.last, e)
	r.restart(to)
}

// emitRun makes an item of the run up to vertex e.
func (r *runBuilder) emitRun(e int, to Sample) {
	b, tol := r.s.batch, r.s.opt.Tolerance
	length := to.D - r.start.D
	slope := (to.H - r.start.H) / length
	// By how much the breakpoints are off the chord, and the heights off the
	// breakpoints' own.
	var up, down, over, under float64
	var less float32
	low, high := r.start, r.start
	for k := range r.breaks {
		v := &r.breaks[k]
		over, under, less = max(over, v.up), max(under, v.down), max(less, v.less)
		at := v.Sample
		if at.D >= to.D {
			at = to
		}
		off := at.H - (r.start.H + slope*(at.D-r.start.D))
		up, down = max(up, off), max(down, -off)
		if at.H < low.H {
			low = at
		}
		if at.H > high.H {
			high = at
		}
		if v.D >= to.D {
			break
		}
	}
	if e == r.first+1 && up+over+down+under > 2*tol && length > ShortestCut {
		r.block(r.first, nil)
		return
	}
	it := r.s.item()
	it.first, it.end, it.StartD = r.first, e, r.start.D
	it.Burns, it.BurnLength = r.burns(e)
	it.Kind = r.kind
	it.Low, it.High = low, high
	if r.mixed {
		it.Low, it.High = r.underBeam(e)
	}
	raw, words := it.Block.Raw, it.Block.Words // their memory
	it.Block = r.like
	it.Block.Raw, it.Block.Words = raw, words
	it.Block.Line += r.first
	end := &b.vertices[e-1]
	it.Before, it.After = r.state, r.state
	b.setPower(&it.After, r.first, e)
	it.After.At.X, it.After.At.Y, it.After.Motion = end.X, end.Y, end.Motion
	setBeam(&it.After, end.Burn)
	it.During = it.After
	it.Move = machine.Move{Kind: machine.Line, Burn: r.burn, From: it.Before.At, To: it.After.At,
		Length: length, Seconds: length * r.secondsPerMM, Feed: 60 / r.secondsPerMM, PowerFollows: r.state.BeamFollows}
	it.pieces = int32(len(b.pieces))
	switch {
	case r.s.opt.Surface == nil:
	case r.s.opt.HoldBurns && r.burn:
		b.pieces = append(b.pieces, surface.Piece{S1: 1, H0: low.H, H1: low.H, Down: under, Less: less},
			surface.Piece{S0: 1, S1: 1, H0: high.H, H1: high.H, Up: over, Less: less})
	default:
		b.pieces = append(b.pieces, surface.Piece{S1: 1, H0: r.start.H, H1: to.H, Up: up + over, Down: down + under, Less: less})
	}
	it.last = int32(len(b.pieces))
	r.state = it.After
}

// underBeam gives the places of the least and the greatest height on the burns of
// the run up to vertex e, which has travels among them.
func (r *runBuilder) underBeam(e int) (low, high Sample) {
	low, high = Sample{H: math.Inf(1)}, Sample{H: math.Inf(-1)}
	take := func(at Sample) {
		if at.H < low.H {
			low = at
		}
		if at.H > high.H {
			high = at
		}
	}
	vertices, d := r.s.batch.vertices, r.start.D
	for k := r.first; k < e; {
		burn, from := vertices[k].Burn, d
		for ; k < e && vertices[k].Burn == burn; k++ {
			d = vertices[k].D
		}
		if !burn {
			continue
		}
		take(r.sample(from))
		take(r.sample(d))
		for q := range r.breaks {
			if p := &r.breaks[q]; p.D > from && p.D < d {
				take(p.Sample)
			}
		}
	}
	return low, high
}

// burns counts the burns of the run up to vertex e, and their length.
func (r *runBuilder) burns(e int) (n int, length float64) {
	vertices := r.s.batch.vertices
	switch {
	case !r.burn:
		return 0, 0
	case !r.mixed:
		return e - r.first, vertices[e-1].D - r.start.D
	}
	d := r.start.D
	for k := r.first; k < e; k++ {
		if vertices[k].Burn {
			n++
			length += vertices[k].D - d
		}
		d = vertices[k].D
	}
	return n, length
}

// block makes an item of the line to vertex k alone, as the general path would. An
// arc has its turn.
func (r *runBuilder) block(k int, turn *machine.Turn) {
	b, v, it, line := r.s.batch, &r.s.batch.vertices[k], r.s.item(), &r.s.plain
	line.SetPlain(&r.like, b.text[b.lineStart(k):v.End], k, v.Style)
	line.CopyTo(&it.Block)
	it.Before = r.state
	it.Kind = b.kind(k)
	b.lineItem(it, k, math.Hypot(v.X-it.Before.At.X, v.Y-it.Before.At.Y), r.secondsPerMM, turn)
	r.s.heights(it)
	r.state = it.After
}

// blocks makes items of the lines from vertex k up to vertex e.
func (r *runBuilder) blocks(k, e int) {
	for ; k < e; k++ {
		r.block(k, nil)
	}
}

// offSurface makes items of the segment's lines one by one: where they leave the
// surface, or cross a hole, each must be known.
func (r *runBuilder) offSurface() {
	if r.last > r.first {
		r.emit(r.last, r.good)
	}
	r.state.At.X, r.state.At.Y = r.segX, r.segY
	r.blocks(r.segFirst, r.taken)
	mixed := r.mixed
	r.from(r.taken)
	r.mixed = mixed
}

// alone makes an item of the line to vertex k, the next, alone.
func (r *runBuilder) alone(k int) {
	r.cutOff(k)
	var turn *machine.Turn
	if r.s.batch.vertices[k].Motion > 1 {
		turn, r.turns = &r.turns[0], r.turns[1:]
	}
	r.block(k, turn)
	v := &r.s.batch.vertices[k]
	r.d, r.x, r.y = v.D, v.X, v.Y
	r.from(k + 1)
}

// standsAlone reports whether each line of the run up to vertex e must be a block.
func (r *runBuilder) standsAlone(e int) bool {
	if r.s.opt.Alone == nil {
		return false
	}
	at := r.state.At
	x0, y0, x1, y1 := at.X, at.Y, at.X, at.Y
	for _, v := range r.s.batch.vertices[r.first:e] {
		x0, y0, x1, y1 = min(x0, v.X), min(y0, v.Y), max(x1, v.X), max(y1, v.Y)
	}
	return r.s.opt.Alone(x0, y0, x1, y1, at.Z, r.s.burnZ)
}
