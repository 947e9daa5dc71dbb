package recheck

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/probe"
	"sagitta/internal/surface"
)

// Site is where places to touch may lie.
type Site struct {
	// Surface is the stock as it was measured, in program XY.
	Surface *surface.Placed
	// Burns are what the job burns.
	Burns orb.MultiLineString
	// Reach is that of the beam while the touch tool is within its own.
	Reach machine.Reach
	// Touchable reports whether a place can be touched; nil is everywhere.
	Touchable func(orb.Point) bool
}

// Places are the places that were chosen.
type Places struct {
	At []orb.Point
	// BareMM is how far from all burns they are at least, 0 where that was not to
	// be had: a touch may then lie on what is burned.
	BareMM float64
}

const (
	// latticeNodes are those along an axis among which places are chosen.
	latticeNodes = 31
	// insetMM, or that part of the stock where it is less, is how far from the edge of
	// what was measured places are: stock that lies a little aside is still there.
	insetMM, insetPart = 3, 0.04
	// aroundMM is how far beside a job a surface without end is looked at.
	aroundMM = 20
	// gauged is how far apart two places are that a gauge tells apart, as a part of the
	// greatest distance.
	gauged = 0.05
)

// bareMM are the distances from burns that are tried: a touch tool, or the foot of a
// gauge, leaves its mark beside what is burned (common practice, no source).
var bareMM = []float64{5, 3, 1.5, 0.5, 0}

// Choose chooses n places that tell best what may be wrong with how the stock lies: the
// highest and the lowest, and then those that settle most of what Judge asks. They are
// off what is burned as far as there is room. The error, a *diag.Error, is that there
// are not so many.
func Choose(s *Site, n int) (*Places, error) {
	area := s.area()
	x, y := lattice(area.Min[0], area.Max[0]), lattice(area.Min[1], area.Max[1])
	size := max(area.Max[0]-area.Min[0], area.Max[1]-area.Min[1])
	inset := min(insetMM, insetPart*size)
	fit := func(k int) bool {
		q := orb.Point{x[k%len(x)], y[k/len(x)]}
		for _, d := range [5][2]float64{{}, {inset, 0}, {-inset, 0}, {0, inset}, {0, -inset}} {
			if _, where := s.Surface.At(q[0]+d[0], q[1]+d[1]); where != surface.On {
				return false
			}
		}
		return s.Reach.Beyond(q[0], q[1]) == 0 && (s.Touchable == nil || s.Touchable(q))
	}
	var on []int
	for k := range len(x) * len(y) {
		if fit(k) {
			on = append(on, k)
		}
	}
	for _, apart := range bareMM {
		free := on
		if apart > 0 {
			bare := probe.Bare(s.Burns, x, y, apart)
			free = slices.DeleteFunc(slices.Clone(on), func(k int) bool { return !bare[k] })
		}
		var at []orb.Point
		for _, k := range free {
			at = append(at, orb.Point{x[k%len(x)], y[k/len(x)]})
		}
		if picked := pick(s.Surface, at, n); len(picked) == n {
			return &Places{At: picked, BareMM: apart}, nil
		}
	}
	return nil, diag.Errorf(diag.Unmet, "give fewer --places, move what stands there, or give a greater probe_depth_mm in the profile",
		"there are no %d places on the measured stock that can be touched", n)
}

// area is the rectangle in which stock is looked at.
func (s *Site) area() orb.Bound {
	h := s.Surface.Surface().Header()
	around := s.Burns.Bound().Pad(aroundMM)
	if h.WrapsYMM > 0 {
		return around
	}
	corners := s.Surface.Bounds()
	b := orb.Bound{Min: orb.Point(corners[0]), Max: orb.Point(corners[0])}
	for _, c := range corners {
		b = b.Extend(orb.Point(c))
	}
	return b
}

// lattice divides a to b at whole micrometres, within them.
func lattice(a, b float64) []float64 {
	v := make([]float64, latticeNodes)
	for k := range v {
		at := a + (b-a)*float64(k)/float64(len(v)-1)
		v[k] = min(max(math.Round(at*1000), math.Ceil(a*1000-1e-6)), math.Floor(b*1000+1e-6)) / 1000
	}
	return slices.Compact(v)
}

// pick picks n of the places, fewer where there are not so many that a gauge tells apart.
func pick(on *surface.Placed, at []orb.Point, n int) (picked []orb.Point) {
	if len(at) == 0 {
		return nil
	}
	rows := effects(on, at)
	size := orb.MultiPoint(at).Bound()
	least := gauged * math.Hypot(size.Max[0]-size.Min[0], size.Max[1]-size.Min[1])
	apart := func(q orb.Point) bool {
		return !slices.ContainsFunc(picked, func(p orb.Point) bool { return math.Hypot(p[0]-q[0], p[1]-q[1]) < least })
	}
	p := rows.RawMatrix().Cols
	// The information of the places so far; a little of everything is known before.
	info := mat.NewSymDense(p, nil)
	for k := range p {
		info.SetSym(k, k, known)
	}
	add := func(k int) {
		picked = append(picked, at[k])
		info.SymRankOne(info, 1, rows.RowView(k))
	}
	high, low := 0, 0
	for k := range at {
		if rows.At(k, heightColumn) > rows.At(high, heightColumn) {
			high = k
		}
		if rows.At(k, heightColumn) < rows.At(low, heightColumn) {
			low = k
		}
	}
	add(high)
	if apart(at[low]) && len(picked) < n {
		add(low)
	}
	for len(picked) < n {
		var chol mat.Cholesky
		if !chol.Factorize(info) {
			return nil
		}
		// The determinant grows by 1 + xᵀ·info⁻¹·x: the place of which least is known.
		best, most := -1, 0.0
		for k := range at {
			if !apart(at[k]) {
				continue
			}
			var v mat.VecDense
			if chol.SolveVecTo(&v, rows.RowView(k)) != nil {
				return nil
			}
			if gain := mat.Dot(rows.RowView(k), &v); gain > most {
				best, most = k, gain
			}
		}
		if best < 0 {
			return picked
		}
		add(best)
	}
	return picked
}

// known is what counts as known before of each effect, of which the greatest is 1.
const known = 1e-3

// heightColumn is the column of effects that has the heights.
const heightColumn = 3

// effects gives, a row for each place, by how much its height changes with what may be
// wrong, each column scaled to 1 at most: the zero, two tilts, the height itself (upside
// down, or in other units), two shifts, a turn, and a middle that is pressed down.
func effects(on *surface.Placed, at []orb.Point) *mat.Dense {
	frame := frameOf(on, at)
	m := mat.NewDense(len(at), 8, nil)
	for k, q := range at {
		h, _ := on.At(q[0], q[1])
		gx, gy := on.Grad(q[0], q[1])
		u, v := frame.local(q)
		m.SetRow(k, []float64{1, u, v, h, gx, gy, gy*u*frame.half[0] - gx*v*frame.half[1], frame.pressed(q)})
	}
	_, p := m.Dims()
	for c := range p {
		most := 0.0
		for k := range at {
			most = max(most, math.Abs(m.At(k, c)))
		}
		if most < flatMM {
			most = math.Inf(1) // it does nothing
		}
		for k := range at {
			m.Set(k, c, m.At(k, c)/most)
		}
	}
	return m
}

// flatMM is below what no height counts, and no slope.
const flatMM = 1e-9

// frame is the stock as a rectangle about its middle.
type frame struct{ mid, half [2]float64 }

// frameOf is that of a surface, of one without end that about places.
func frameOf(on *surface.Placed, at []orb.Point) (f frame) {
	if on.Surface().Header().WrapsYMM == 0 {
		corners := on.Bounds()
		at = []orb.Point{orb.Point(corners[0]), orb.Point(corners[1]), orb.Point(corners[2]), orb.Point(corners[3])}
	}
	b := orb.MultiPoint(at).Bound()
	for k := range f.mid {
		f.mid[k], f.half[k] = (b.Min[k]+b.Max[k])/2, max((b.Max[k]-b.Min[k])/2, flatMM)
	}
	return f
}

// local is a place within it, from -1 to 1 along each axis.
func (f *frame) local(q orb.Point) (u, v float64) {
	return (q[0] - f.mid[0]) / f.half[0], (q[1] - f.mid[1]) / f.half[1]
}

// pressed is how far a place gives way where the middle gives way by 1 and the edges lie
// on.
func (f *frame) pressed(q orb.Point) float64 {
	u, v := f.local(q)
	return -max(0, 1-u*u) * max(0, 1-v*v)
}
