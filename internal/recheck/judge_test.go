package recheck

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
)

// sheet draws a bowed and twisted sheet, read between nodes by the cubic.
func sheet(r *rand.Rand) func(x, y float64) float64 {
	a, b, c, d, e := r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()
	px, py := 6*r.Float64(), 6*r.Float64()
	size := 0.5 + 2.5*r.Float64()
	return func(x, y float64) float64 {
		u, v := x/150-1, y/100-1
		return size * (a*u*u + b*v*v + c*u*v + 0.4*d*math.Sin(3*u+px) + 0.4*e*math.Sin(2*v+py) + 0.3*a*u*u*v + 0.3*b*u*v*v)
	}
}

// trial is stock with a few places on it.
type trial struct {
	r      *rand.Rand
	on     *surface.Placed
	datum  *[2]float64
	error  float64
	touch  float64
	places []orb.Point
	stock  stock
}

// place lays heights down.
func (tr *trial) place(t *testing.T, h func(x, y float64) float64) *surface.Placed {
	var x, y, z []float64
	for k := range 13 {
		x = append(x, float64(k)*25)
	}
	for k := range 9 {
		y = append(y, float64(k)*25)
	}
	for _, b := range y {
		for _, a := range x {
			z = append(z, h(a, b))
		}
	}
	s, err := surface.New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.Place(s, surface.Placement{Method: "bicubic", Datum: tr.datum, Raw: tr.datum == nil})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func newTrial(t *testing.T, r *rand.Rand, n int) *trial {
	tr := &trial{r: r, error: []float64{0.02, 0.05, 0.1}[r.IntN(3)]}
	tr.touch = tr.error / 2
	if r.IntN(2) == 0 {
		tr.datum = &[2]float64{10, 10}
	}
	tr.on = tr.place(t, sheet(r))
	burns := orb.MultiLineString{{{60, 50}, {240, 50}, {240, 150}, {60, 150}, {60, 50}}, {{100, 80}, {200, 120}}}
	p, err := Choose(&Site{Surface: tr.on, Burns: burns}, n)
	if err != nil {
		t.Fatal(err)
	}
	tr.places = p.At
	tr.stock = stock{on: tr.on, datum: tr.datum, frame: frameOf(tr.on, tr.places)}
	return tr
}

// read gives what is read of stock that lies so.
func (tr *trial) read(a *amounts) (points []surface.Point) {
	for k := range len(tr.places) + 1 {
		i := k % len(tr.places)
		q := tr.places[i]
		z := tr.stock.height(a, i, q)
		if k < len(tr.places) {
			z += tr.error * tr.r.NormFloat64() * a.scale
		} else {
			z = points[0].Z
		}
		if a.scalesPlaces {
			q = orb.Point{q[0] / mmPerInch, q[1] / mmPerInch}
			z = tr.stock.height(a, i, q) + tr.error*tr.r.NormFloat64()*a.scale
			if k == len(tr.places) {
				z = points[0].Z
			}
		}
		points = append(points, surface.Point{X: q[0], Y: q[1], Z: z + tr.touch*tr.r.NormFloat64()*a.scale})
	}
	return points
}

func (tr *trial) judge(t *testing.T, points []surface.Point) *Answer {
	a, err := Judge(&Question{Surface: tr.on, Datum: tr.datum, ErrorMM: tr.error, TouchMM: tr.touch, Allowed: Allowance{MM: 2*tr.error + tr.touch}}, points)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// shows is the root of the mean square of what it changes.
func (tr *trial) shows(a *amounts) float64 {
	sum := 0.0
	for i, q := range tr.places {
		read := q
		if a.scalesPlaces {
			read = orb.Point{q[0] / mmPerInch, q[1] / mmPerInch}
		}
		d := tr.stock.height(a, i, read) - tr.stock.height(&amounts{scale: 1}, i, q)
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(tr.places)))
}

// mistake draws one of a kind that shows at five times the error, or a few more.
func (tr *trial) mistake(kind Kind) (a amounts, ok bool) {
	r := tr.r
	wanted := tr.error * (5 + 5*r.Float64())
	angle := 2 * math.Pi * r.Float64()
	sin, cos := math.Sincos(angle)
	turn := 1.0
	if r.IntN(2) == 0 {
		turn = -1
	}
	for size := 0.01; size < 60; size *= 1.1 {
		a = amounts{scale: 1}
		switch kind {
		case Zero:
			a.zero = size * turn
		case UpsideDown:
			a.upside = true
		case Inches:
			a.scale = 1 / mmPerInch
		case InchesPlaces:
			a.scale, a.scalesPlaces = 1/mmPerInch, true
		case SurfaceInches:
			a.scale = mmPerInch
		case Shifted:
			a.shift = [2]float64{size * cos, size * sin}
		case Turned:
			if a.turn = size / 180 * turn; size/180 > math.Pi/4 {
				a.turn = math.Pi
			}
		case ShiftedTurned:
			a.shift, a.turn = [2]float64{size * cos / 2, size * sin / 2}, size/360*turn
		case Tilted:
			a.tilt = [2]float64{size * cos, size * sin}
		case Pressed:
			a.press = size * turn
		case OnePlace:
			a.place, a.placeOff = r.IntN(len(tr.places)), size*turn
			if a.place == 0 {
				a.place = 1
			}
		}
		if tr.shows(&a) >= wanted {
			return a, true
		}
	}
	return a, false
}

// near reports whether a cause has the sizes of what was drawn, within what it says of
// them.
func (tr *trial) near(c *Cause, a *amounts) bool {
	arm := math.Hypot(tr.stock.frame.half[0], tr.stock.frame.half[1])
	got := map[Kind][]float64{
		Zero: {c.zero}, Shifted: {c.shift[0], c.shift[1]}, Turned: {c.turn * arm}, Tilted: {c.tilt[0], c.tilt[1]}, Pressed: {c.press},
		ShiftedTurned: {c.shift[0], c.shift[1], c.turn * arm}, OnePlace: {c.placeOff},
	}[c.Kind]
	want := map[Kind][]float64{
		Zero: {a.zero}, Shifted: {a.shift[0], a.shift[1]}, Turned: {a.turn * arm}, Tilted: {a.tilt[0], a.tilt[1]}, Pressed: {a.press},
		ShiftedTurned: {a.shift[0], a.shift[1], a.turn * arm}, OnePlace: {a.placeOff},
	}[c.Kind]
	for k := range got {
		sure := 0.0
		if k < len(c.Sure) {
			sure = c.Sure[k]
		}
		if math.Abs(got[k]-want[k]) > 2*sure+0.01 {
			return false
		}
	}
	return c.Kind != OnePlace || c.place == a.place
}

// Of mistakes that show at five times the error those that are named have the right kind
// and size, or the places leave that one open among few; good stock is never blamed.
func TestMistakesAreNamed(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 7))
	const each = 500
	kinds := []Kind{Zero, UpsideDown, Inches, InchesPlaces, SurfaceInches, Shifted, Turned, ShiftedTurned, Tilted, Pressed, OnePlace, Other}
	right, alone, missed, all := map[Kind]int{}, map[Kind]int{}, map[Kind]string{}, map[Kind]int{}
	total, good := 0, 0
	for total < each {
		kind := kinds[r.IntN(len(kinds))]
		tr := newTrial(t, r, 6)
		var points []surface.Point
		var a amounts
		if kind == Other {
			other := *tr
			other.on = tr.place(t, sheet(r))
			other.stock.on = other.on
			a = amounts{scale: 1}
			points = other.read(&a)
		} else {
			var ok bool
			if a, ok = tr.mistake(kind); !ok {
				continue
			}
			points = tr.read(&a)
		}
		ans := tr.judge(t, points)
		if kind == Other && ans.Holds() {
			continue // they are much alike
		}
		total++
		all[kind]++
		named := false
		for k := range ans.Causes {
			c := &ans.Causes[k]
			named = named || c.Kind == kind && tr.near(c, &a)
		}
		switch {
		case ans.Holds():
			missed[kind] += " holds"
		case named:
			good++
			right[kind]++
			if len(ans.Causes) == 1 {
				alone[kind]++
				tr.lies(t, ans, points)
			}
		default:
			missed[kind] += fmt.Sprintf(" [%+v:", a)
			for _, c := range ans.Causes {
				missed[kind] += fmt.Sprintf(" %d %.3f %v", c.Kind, c.Part, c.amounts)
			}
			missed[kind] += "]"
		}
	}
	for _, k := range kinds {
		t.Logf("kind %d: %d of %d named, %d alone;%.1500s", k, right[k], all[k], alone[k], missed[k])
	}
	if good < 95*total/100 {
		t.Errorf("%d of %d named", good, total)
	}
}

// lies judges the readings by the surface as an answer has it: it is to hold.
func (tr *trial) lies(t *testing.T, a *Answer, points []surface.Point) {
	moved, err := a.Moved(&Question{Surface: tr.on, Datum: tr.datum}, tr.on.Surface())
	if err != nil {
		t.Fatal(err)
	}
	if moved == nil {
		if a.plain() != nil {
			t.Errorf("not moved: %+v", a.Causes)
		}
		return
	}
	h := moved.Header()
	p := h.Placement()
	p.Method, p.Raw = "bicubic", h.Datum == nil
	on, err := surface.Place(moved, p)
	if err != nil {
		t.Fatal(err)
	}
	q := Question{Surface: on, ErrorMM: tr.error, TouchMM: tr.touch}
	again, err := Judge(&q, points)
	if diag.Is(err, diag.Unsupported) {
		return // it was turned away from under the places
	}
	// What a cause leaves is by its parameters' uncertainty more.
	if err != nil || again.Causes != nil && math.Abs(again.Worst.OffMM) > 5*again.SureMM {
		t.Errorf("%+v leaves %+v", a.Causes, again)
	}
}

// Good stock is not blamed.
func TestGoodStockIsNotBlamed(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 13))
	for range 500 {
		tr := newTrial(t, r, 6)
		a := amounts{scale: 1}
		if ans := tr.judge(t, tr.read(&a)); !ans.Holds() || ans.Causes != nil || ans.Again != nil {
			t.Errorf("blamed: %+v", ans)
		}
	}
}
