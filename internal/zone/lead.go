package zone

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
	"sagitta/internal/zone/rows"
)

// run is how far the head runs into a piece or out of it, straight ahead at feed with
// the beam off: as far as the original does, in mm, or as the bench asks; below 0 not
// at all, as the original stands still there.
type run float32

const (
	asBench run = 0
	noRun   run = -1
)

// runs tells how pieces are come to and left. over is how far the original runs into
// the row that is burned, 0 where it does not.
type runs struct{ over run }

// between tells how far to run out of a burn with the heading before, where what
// stands between it and the next burn is no seam, and into that, as the original
// does; a row goes on over white.
func (r *runs) between(gap []waiting, before, ahead [2]float64) (out, in run) {
	first, _ := straight(gap, before)
	last, all := tail(gap, ahead)
	switch {
	case all && before[0]*ahead[0]+before[1]*ahead[1] > rows.Parallel:
		return r.over, r.over
	case last > 0:
		r.over, in = run(last), run(last)
	default:
		r.over, in = asBench, noRun
	}
	if out = noRun; first > 0 {
		out = run(first)
	}
	return out, in
}

// legs calls take with the way and the direction of each motion of what stands between
// two burns; of one that is not at feed over XY alone the direction is 0.
func legs(gap []waiting, take func(length, dx, dy float64)) {
	for i := range gap {
		it := gap[i].it
		m := &it.Move
		switch {
		case !moves(it):
		case m.Rapid || m.FromUnknown || m.Kind != machine.Line || m.From.Z != m.To.Z:
			take(0, 0, 0)
		case it.IsRun():
			for a, b := range it.Ends() {
				if l := math.Hypot(b.X-a.X, b.Y-a.Y); l > 0 {
					take(l, (b.X-a.X)/l, (b.Y-a.Y)/l)
				}
			}
		default:
			dx, dy := m.Heading(0)
			take(m.Length, dx, dy)
		}
	}
}

// straight is how far what stands between two burns first goes straight on at feed, and
// whether it does all the way.
func straight(gap []waiting, way [2]float64) (length float64, on bool) {
	on = true
	legs(gap, func(l, dx, dy float64) {
		if on = on && dx*way[0]+dy*way[1] > rows.Parallel; on {
			length += l
		}
	})
	return length, on
}

// tail is how far it at last goes straight on at feed, and whether it does all the way.
func tail(gap []waiting, way [2]float64) (length float64, all bool) {
	all = true
	legs(gap, func(l, dx, dy float64) {
		if dx*way[0]+dy*way[1] > rows.Parallel {
			length += l
		} else {
			length, all = 0, false
		}
	})
	return length, all
}

// speed is that of an item over XY, in mm/s.
func speed(m *machine.Move) float64 { return m.Length / m.Seconds }

// lead is how far to run, in mm, to have a speed in mm/s in a direction, and whether it
// is said how far.
func (o *Options) lead(r run, v float64, way [2]float64) (mm float64, said bool) {
	switch {
	case r < 0:
		return 0, true
	case r > 0:
		return float64(r), true
	case o.LeadSaid || o.Lead > 0:
		return o.Lead, true
	case o.Accel > 0:
		// The axis that has most to do bounds how fast the head gathers speed.
		return v * v / (2 * o.Accel / max(math.Abs(way[0]), math.Abs(way[1]))), false
	}
	return 0, true
}

// runOut is where the head comes to that runs on in a direction from where the
// original stands, so far as it is to for a speed in mm/s, or as much of it as is clear
// and within reach; false where it does not run. Where the reach is not known, what no
// one has said stays within what the original goes over.
func (o *out) runOut(r run, v float64, way [2]float64, like *program.Block) (x, y float64, runs bool) {
	st := o.pen.State()
	if way == [2]float64{} || !o.pen.CanDarken() || !st.Fed() && !st.InverseTime {
		return 0, 0, false
	}
	whole, said := o.opt.lead(r, v, way)
	if whole < stream.ClosestCut {
		return 0, 0, false
	}
	reach := o.opt.Reach
	if !said {
		reach = within(reach, &o.p.goes)
	}
	z, lead := o.sigma()*st.At.Z, whole
	for ; lead >= stream.ClosestCut; lead *= shorter {
		x, y = o.pen.Grid(st.At.X+lead*way[0]), o.pen.Grid(st.At.Y+lead*way[1])
		run := machine.Move{Kind: machine.Line, From: st.At, To: machine.Point{X: x, Y: y}, Length: lead}
		if reach.Beyond(x, y) == 0 && o.need(o.opt.asks(&run), z) <= z+o.c-rounding {
			runs = true
			break
		}
	}
	if lead < whole {
		if !runs {
			lead = 0
		}
		if o.z.Shorter++; o.z.Shorter == 1 || lead < o.z.ShortestMM {
			o.z.ShortestMM = lead
		}
	}
	return x, y, runs
}

// within is a reach, or where it is not known what the original goes over.
func within(r machine.Reach, goes *box) machine.Reach {
	if r.X == nil {
		r.X = &[2]float64{goes.x0, goes.x1}
	}
	if r.Y == nil {
		r.Y = &[2]float64{goes.y0, goes.y1}
	}
	return r
}

// shorter is the part of a lead that is left where all of it is not clear: so much
// that nobody misses the rest.
const shorter = 0.9

// cutOverlap is by how much cuts overlap at seams, in mm: common practice, no source.
const cutOverlap = 0.3

// overlap is by how much, in mm, a part of a burn overlaps the next, in the zone of a
// lens: cuts overlap by as much as a part takes not to hang on, rows of a raster meet,
// lines overlap by half their spot.
func (o *Options) overlap(row, cut bool, lens int) float64 {
	switch {
	case o.OverlapSaid || o.Overlap > 0:
		return o.Overlap
	case cut:
		return cutOverlap
	case row:
		return 0
	}
	return o.Lenses[lens].Spot / 2
}
