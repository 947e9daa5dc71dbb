package corridor

import (
	"math"

	"sagitta/internal/focus"
)

const (
	// bandPart is how much c may differ between rows that lie side by side, one of which is
	// held still, as a part of the depth to spend: less of a step is not seen in a picture.
	bandPart = 0.1
	// straightOn is by how much the way over XY turns at most where it counts as straight on.
	straightOn = 1e-3
)

// Row is what the last row of burns that a plan has laid tells of the one behind it.
type Row struct {
	// Laid tells that there is one, C the range of c over its burns so far.
	Laid bool
	C    focus.Window
	// On tells that the row goes on behind the window, and Held that c stands still on it.
	On, Held bool
}

// row is a stretch of the path between two travels apart from it, along which something
// burns: in a picture a row, with what runs into it and out of it.
type row struct {
	first, last int
	// all is where one c may stand for all of it, and w what those beside it leave of that.
	all, w focus.Window
	// band is by how much those may differ, in mm.
	band float64
	// still tells that it is to be held, at c.
	still bool
	c     float64
}

// findRows finds those of the window. To be held one must end there; whole tells that
// nothing comes behind the window.
func (p *Planner) findRows(whole bool) {
	p.rows = p.rows[:0]
	n := len(p.gates)
	on := p.from.Row.On
	for i := 0; i+1 < n; {
		j, burns := i, false
		for j++; ; j++ {
			g := &p.gates[j]
			burns = burns || g.Burn
			if j+1 == n || g.Corner == 0 || g.Turn > straightOn {
				break
			}
		}
		switch on = burns || on && i == 0; {
		case !on:
		case len(p.rows) > 0 && p.rows[len(p.rows)-1].last == i:
			p.rows[len(p.rows)-1].last = j
		default:
			p.rows = append(p.rows, row{first: i, last: j})
		}
		i = j
	}
	for k := range p.rows {
		r := &p.rows[k]
		r.all, r.band = focus.Window{Lo: math.Inf(-1), Hi: math.Inf(1)}, math.Inf(1)
		for q := r.first; q <= r.last; q++ {
			g := &p.gates[q]
			d := g.depth(p.Depth)
			r.all = r.all.Intersect(p.Drawn(g))
			r.band = min(r.band, bandPart*p.use(g)*(d.Near+d.Far)/2)
		}
		if r.first == 0 && !p.from.Free { // which may lie on the edge to the last bits
			r.all = focus.Window{Lo: max(r.all.Lo-linkSlack, p.from.C), Hi: min(r.all.Hi+linkSlack, p.from.C)}
		}
		r.still = !r.all.Empty() && (whole || r.last+1 < n) && (r.first > 0 || !p.from.Row.On || p.from.Row.Held)
	}
}

// hold decides which rows stand still, so that each differs little from those beside it,
// and at which c, so that it changes as seldom as can be. The others go by the string,
// which is laid as if none were held.
func (p *Planner) hold(whole bool) {
	p.findRows(whole)
	for was := -1; was != p.moving(); {
		was = p.moving()
		p.narrowRows()
	}
	for i := 0; i < len(p.rows); i++ {
		first := i
		for i < len(p.rows) && p.rows[i].still {
			i++
		}
		p.fewest(p.rows[first:i])
	}
}

// moving counts the rows that are not held.
func (p *Planner) moving() (n int) {
	for k := range p.rows {
		if !p.rows[k].still {
			n++
		}
	}
	return n
}

// narrowRows leaves of the windows of rows what is near enough to those beside, if these
// move, or to what is left of their windows. A row of which nothing is left moves, and so
// does the one that it was too far from.
func (p *Planner) narrowRows() {
	for k := range p.rows {
		r := &p.rows[k]
		r.w = r.all
		if k == 0 && r.first > 0 && p.from.Row.Laid {
			r.near(p.from.Row.C)
		}
		if k > 0 {
			p.meet(&p.rows[k-1], r)
		}
	}
	for k := len(p.rows) - 1; k > 0; k-- {
		p.meet(&p.rows[k], &p.rows[k-1])
	}
}

// meet leaves of the window of a row what is near enough to the one beside it.
func (p *Planner) meet(beside, r *row) {
	switch {
	case !r.still:
	case !beside.still:
		r.near(p.along(beside, beside.last))
	default:
		band := min(r.band, beside.band)
		r.w = r.w.Intersect(focus.Window{Lo: beside.w.Lo - band, Hi: beside.w.Hi + band})
		r.still = !r.w.Empty()
		beside.still = r.still
	}
}

// near leaves of a row's window what is near enough to one beside it that goes so far to
// either side.
func (r *row) near(c focus.Window) {
	r.w = r.w.Intersect(focus.Window{Lo: c.Hi - r.band, Hi: c.Lo + r.band})
	r.still = r.still && !r.w.Empty()
}

// along is the range of c over the burns of a row, up to a gate.
func (p *Planner) along(r *row, end int) focus.Window {
	w := focus.Window{Lo: math.Inf(1), Hi: math.Inf(-1)}
	if r.first == 0 && p.from.Row.On {
		w = p.from.Row.C
	}
	for q := r.first + 1; q <= end; q++ {
		if p.gates[q].Burn {
			w.Lo, w.Hi = min(w.Lo, p.c[q-1], p.c[q]), max(w.Hi, p.c[q-1], p.c[q])
		}
	}
	return w
}

// fewest sets the c of rows that are all held, one beside the other. Forward it carries
// the window that the fewest changes reach, and back it lets c be what it is as long as
// that may be.
func (p *Planner) fewest(rows []row) {
	if len(rows) == 0 {
		return
	}
	was := row{w: rows[0].w, band: rows[0].band}
	if c := p.from.C; rows[0].first == p.rows[0].first && !p.from.Free && was.w.Clamp(c) == c {
		was.w = focus.Window{Lo: c, Hi: c}
	}
	for k := range rows {
		r := &rows[k]
		if w := was.w.Intersect(r.w); !w.Empty() {
			r.w = w
		} else {
			band := min(r.band, was.band)
			r.w = r.w.Intersect(focus.Window{Lo: was.w.Lo - band, Hi: was.w.Hi + band})
		}
		was = *r
	}
	c := p.Rest
	for k := len(rows) - 1; k >= 0; k-- {
		r := &rows[k]
		c = p.stepped(r.w, r.w.Clamp(c))
		r.c = c
		for q := r.first; q <= r.last; q++ {
			p.still[q] = c
		}
	}
}

// stepped is the whole number of steps beside c that a window has, and c where it has none: so
// what is written to come there need not be mended where the row begins.
func (p *Planner) stepped(w focus.Window, c float64) float64 {
	if p.Step <= 0 {
		return c
	}
	for _, to := range [3]func(float64) float64{math.Round, math.Floor, math.Ceil} {
		if q := to(c/p.Step) * p.Step; w.Clamp(q) == q {
			return q
		}
	}
	return c
}

// release has rows move that are held beside one that goes too far from them, each with
// some more behind it, and reports whether there are any.
func (p *Planner) release(many int) bool {
	var far []int // + of those behind which it goes on, minus of those before
	for k := range p.rows {
		r := &p.rows[k]
		if r.still {
			continue
		}
		w := p.along(r, r.last)
		for _, step := range [2]int{-1, 1} {
			if q := k + step; q >= 0 && q < len(p.rows) && p.rows[q].still {
				if o := &p.rows[q]; max(w.Hi-o.c, o.c-w.Lo) > o.band+linkSlack {
					far = append(far, step*(q+1))
				}
			}
		}
	}
	for _, f := range far {
		step := 1
		if f < 0 {
			f, step = -f, -1
		}
		for k, n := f-1, 0; n < many && k >= 0 && k < len(p.rows) && p.rows[k].still; n++ {
			p.free(&p.rows[k])
			k += step
		}
	}
	return len(far) > 0
}

// free has a row move.
func (p *Planner) free(r *row) {
	r.still = false
	for q := r.first; q <= r.last; q++ {
		p.still[q] = math.NaN()
	}
}

// held reports whether a gate stands still.
func (p *Planner) held(k int) bool { return k < len(p.still) && p.still[k] == p.still[k] }

// ends reports whether a row that is held begins or ends at a gate, c being another beyond it.
func (p *Planner) ends(k int) bool {
	c := p.still
	return p.held(k) && (k == 0 || c[k-1] != c[k] || k+1 == len(c) || c[k+1] != c[k])
}

// lastRow is the row that gate end is in or behind.
func (p *Planner) lastRow(end int) Row {
	for k := len(p.rows) - 1; k >= 0; k-- {
		if r := &p.rows[k]; r.first < end {
			return Row{Laid: true, C: p.along(r, min(r.last, end)), On: r.last > end, Held: r.still}
		}
	}
	return p.from.Row
}
