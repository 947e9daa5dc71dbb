package slip

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sagitta/internal/least"
)

// sheet draws a lattice of heights of a surface, and how they were written down: row by
// row, or to and fro.
func sheet(r *rand.Rand) (l Lattice, noise float64) {
	nx, ny := 5+r.IntN(10), 5+r.IntN(8)
	for i := range nx {
		l.X = append(l.X, 25*float64(i))
	}
	for j := range ny {
		l.Y = append(l.Y, 20*float64(j))
	}
	w, h := l.X[nx-1], l.Y[ny-1]
	noise = []float64{0.003, 0.01, 0.02}[r.IntN(3)]
	a, b, c, d, e := 0.02*r.NormFloat64(), 0.02*r.NormFloat64(), 2*r.NormFloat64(), 2*r.NormFloat64(), r.NormFloat64()
	f := []func(x, y float64) float64{
		func(x, y float64) float64 { return a*x + b*y },
		func(x, y float64) float64 { u, v := 2*x/w-1, 2*y/h-1; return a*x/2 + c*u*u + d*v*v + e*u*v },
		func(x, y float64) float64 { return b*x + a*y + 0.5*e*math.Sin(x/50)*math.Cos(y/45+d) },
		func(x, y float64) float64 { return a*x - 0.04*math.Abs(y-h*0.45) },
		func(x, y float64) float64 { return b*y - math.Hypot(x-w/3, y-h/2)*math.Hypot(x-w/3, y-h/2)/800 },
	}[r.IntN(5)]
	for _, y := range l.Y {
		for _, x := range l.X {
			l.Z = append(l.Z, math.Round(1000*(f(x, y)+noise*r.NormFloat64()))/1000)
		}
	}
	fro := r.IntN(2) == 1
	for j := range ny {
		row := series(j*nx, 1, nx)
		if fro && j%2 == 1 {
			slices.Reverse(row)
		}
		l.Order = append(l.Order, row...)
	}
	return l, noise
}

// spoil makes a slip of a kind, and says which.
func spoil(l *Lattice, kind Kind, r *rand.Rand) Slip {
	nx, ny := len(l.X), len(l.Y)
	z := slices.Clone(l.Z)
	s := Slip{Kind: kind, Columns: r.IntN(2) == 1, Lost: -1}
	line := func(k int) []int {
		if s.Columns {
			return series(k, nx, ny)
		}
		return series(k*nx, 1, nx)
	}
	count := ny
	if s.Columns {
		count = nx
	}
	put := func(to, from []int, sign float64) {
		for k := range to {
			l.Z[to[k]] = sign * z[from[k]]
		}
	}
	back := func(v []int) []int { v = slices.Clone(v); slices.Reverse(v); return v }
	s.First = r.IntN(count)
	s.Last = s.First
	switch kind {
	case Exchanged:
		for s.Last == s.First {
			s.Last = r.IntN(count)
		}
		s.First, s.Last = min(s.First, s.Last), max(s.First, s.Last)
		put(line(s.First), line(s.Last), 1)
		put(line(s.Last), line(s.First), 1)
	case Reversed:
		put(line(s.First), back(line(s.First)), 1)
	case Alternate:
		s.First, s.Last = 1, count-1
		for k := 1; k < count; k += 2 {
			put(line(k), back(line(k)), 1)
		}
	case Turned:
		put(line(s.First), line(s.First), -1)
	case Repeated:
		s.First, s.Last = r.IntN(count-3), count-1
		for k := s.First + 1; k < count; k++ {
			put(line(k), line(k-1), 1)
		}
	case Swapped:
		s.Columns = false
		k := r.IntN(len(l.Order) - 1)
		a, b := l.Order[k], l.Order[k+1]
		s.First, s.Last = a, b
		l.Z[a], l.Z[b] = z[b], z[a]
	case Late, Early:
		s.Columns = false
		from := r.IntN(len(l.Order) - 6)
		end := len(l.Order)
		if r.IntN(2) == 0 {
			from -= from % nx
			from += r.IntN(nx - 3)
			end = from - from%nx + nx
		}
		s.First, s.Last = l.Order[from], l.Order[end-1]
		for k := from; k < end; k++ {
			if kind == Late && k > from {
				l.Z[l.Order[k]] = z[l.Order[k-1]]
			}
			if kind == Early && k+1 < end {
				l.Z[l.Order[k]] = z[l.Order[k+1]]
			}
		}
	}
	return s
}

// changed is the root mean square of what a slip does to the heights it touches.
func changed(a, b []float64) (rms float64, n int) {
	for k := range a {
		if d := a[k] - b[k]; d != 0 {
			rms += d * d
			n++
		}
	}
	return math.Sqrt(rms / float64(max(n, 1))), n
}

// score draws slips of a kind that can be told, and counts those that were named by their
// kind and place, and by another.
func score(kind Kind, runs int, r *rand.Rand, log func(string, ...any)) (told, right, other int) {
	for told < runs {
		l, noise := sheet(r)
		was := slices.Clone(l.Z)
		want := spoil(&l, kind, r)
		// What is as small as the noise, or the surface's own symmetry, cannot be told.
		rms, n := changed(was, l.Z)
		if rms < 12*noise || n < 2 || kind == Swapped && rms < 25*noise {
			continue
		}
		// A row that is moved up or down as a whole may be a groove.
		if part := float64(n) / float64(len(l.X)); (kind == Late || kind == Early) && part < lineMost+0.1 && level(was, l.Z) {
			continue
		}
		told++
		got := Find(l)
		switch {
		case len(got) > 0 && got[0].Kind == want.Kind && got[0].Columns == want.Columns && same(got[0], want, l.Order):
			right++
		case len(got) > 0:
			other++
			log("%d x %d: want %v, got %v", len(l.X), len(l.Y), brief(want), brief(got[0]))
		default:
			log("%d x %d: want %v, got nothing", len(l.X), len(l.Y), brief(want))
		}
	}
	return told, right, other
}

// level reports whether heights were changed by much the same.
func level(a, b []float64) bool {
	var d []float64
	for k := range a {
		if v := a[k] - b[k]; v != 0 {
			d = append(d, v)
		}
	}
	middle := least.Median(d)
	for k := range d {
		d[k] -= middle
	}
	return least.Scatter(d) <= 1.1*steadyPart*math.Abs(middle)
}

// same reports whether two slips of a kind are at one place. Where a series begins is
// told to a few places: heights next to each other may be alike.
func same(a, b Slip, order []int) bool {
	switch a.Kind {
	case Late, Early:
		off := slices.Index(order, a.First) - slices.Index(order, b.First)
		return off > -6 && off < 6
	case Swapped:
		return a.First == b.First || a.First == b.Last
	}
	return a.First == b.First
}

func brief(s Slip) string {
	return fmt.Sprintf("kind %d columns %v %d %d", s.Kind, s.Columns, s.First, s.Last)
}

// Slips are named by their kind and place, where the surface lets them be told.
func TestFind(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	whole, named := 0, 0
	for kind := Exchanged; kind <= Early; kind++ {
		told, right, other := score(kind, 30, r, t.Logf)
		whole, named = whole+told, named+right
		if right < 24 || other > 4 {
			t.Errorf("kind %d: %d of %d named, %d as another", kind, right, told, other)
		}
	}
	if named < whole*9/10 {
		t.Errorf("%d of %d slips named", named, whole)
	}
}

// What is well written is not accused.
func TestFindNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(63, 64))
	alarms := 0
	for range 500 {
		l, _ := sheet(r)
		if got := Find(l); len(got) > 0 {
			alarms++
			t.Logf("%d x %d: %v", len(l.X), len(l.Y), brief(got[0]))
		}
	}
	if alarms > 1 {
		t.Errorf("%d of 500 good sheets accused", alarms)
	}
}

// A few heights that are off by themselves, and places without any, make no slip, and
// hide none.
func TestFindAmongBad(t *testing.T) {
	r := rand.New(rand.NewPCG(65, 66))
	alarms, named := 0, 0
	const runs = 60
	for n := range runs {
		l, _ := sheet(r)
		for range 2 {
			l.Z[r.IntN(len(l.Z))] += 4 * (r.Float64() - 0.5)
		}
		l.Z[r.IntN(len(l.Z))] = math.NaN()
		if len(Find(l)) > 0 {
			alarms++
		}
		// A tilt makes a row that is turned round stand out.
		for k := range l.Z {
			l.Z[k] += 0.02 * l.X[k%len(l.X)]
		}
		row := n % len(l.Y)
		at := series(row*len(l.X), 1, len(l.X))
		for a, b := 0, len(at)-1; a < b; a, b = a+1, b-1 {
			l.Z[at[a]], l.Z[at[b]] = l.Z[at[b]], l.Z[at[a]]
		}
		if got := Find(l); len(got) > 0 && got[0].Kind == Reversed && got[0].First == row && !got[0].Columns {
			named++
		}
	}
	if alarms > 2 || named < runs*8/10 {
		t.Errorf("of %d, %d accused that are well written, and %d of those that are not named", runs, alarms, named)
	}
}

// A height that is off by itself is no slip of all that were written after it, though it
// would go with one.
func TestFindNotOneBad(t *testing.T) {
	l := Lattice{X: []float64{0, 10, 20, 30, 40}, Y: []float64{0, 10, 20, 30, 40}, Order: series(0, 1, 25), Z: []float64{
		1.00, 1.02, 1.03, 1.05, 1.06,
		0.0402, 1.04, 1.06, 1.07, 1.09,
		1.05, 1.06, 5.30, 1.10, 1.11,
		1.07, 1.09, 1.10, 1.12, 1.13,
		1.10, 1.11, 1.13, 1.14, 1.16,
	}}
	if got := Find(l); len(got) > 0 {
		t.Errorf("accused: %v", brief(got[0]))
	}
}

// Too few lines to tell one from the rest, and more than anybody writes by hand, are not
// looked through.
func TestFindBounds(t *testing.T) {
	for _, l := range []Lattice{
		{X: []float64{0, 1, 2}, Y: []float64{0, 1, 2, 3}, Z: make([]float64, 12)},
		{X: make([]float64, 40), Y: make([]float64, 40), Z: make([]float64, 1600)},
		{},
	} {
		if got := Find(l); got != nil {
			t.Errorf("%d x %d: %v", len(l.X), len(l.Y), got)
		}
	}
}

// BenchmarkFind prints how many of a thousand slips are named, and how many good sheets
// are accused.
func BenchmarkFind(b *testing.B) {
	r := rand.New(rand.NewPCG(67, 68))
	silent := func(string, ...any) {}
	for b.Loop() {
		for kind := Exchanged; kind <= Early; kind++ {
			told, right, other := score(kind, 125, r, silent)
			b.Logf("kind %d: %3d of %d named, %d as another", kind, right, told, other)
		}
		alarms := 0
		for range 1000 {
			if l, _ := sheet(r); len(Find(l)) > 0 {
				alarms++
			}
		}
		b.Logf("%d of 1000 good sheets accused", alarms)
	}
}
