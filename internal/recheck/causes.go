package recheck

import (
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/surface"
)

// Kind is what may be wrong with stock, or with what was read off it.
type Kind uint8

// The kinds.
const (
	// Zero: all heights are off by as much.
	Zero Kind = iota
	// UpsideDown: the readings, or the surface, count the other way.
	UpsideDown
	// Inches: the readings are in inches where mm were taken for them; with places, in
	// which the places are so too.
	Inches
	// InchesPlaces is that.
	InchesPlaces
	// SurfaceInches: the readings are 25.4 times what the surface says.
	SurfaceInches
	// Shifted: the stock lies aside.
	Shifted
	// Turned: it lies turned about its middle.
	Turned
	// ShiftedTurned is both.
	ShiftedTurned
	// Tilted: one side is higher.
	Tilted
	// Pressed: the middle is lower than measured, the edges are not.
	Pressed
	// OnePlace: one reading alone is off.
	OnePlace
	// Other: nothing of these explains it.
	Other
)

const mmPerInch = 25.4

// amounts are what a cause comes to: how far the zero is off, the shift, the turn in
// radians, the rise from the middle to the sides along X and Y, and how far the middle
// is pressed down.
type amounts struct {
	zero         float64
	shift        [2]float64
	turn         float64
	tilt         [2]float64
	press        float64
	place        int
	placeOff     float64
	upside       bool
	scale        float64 // of the readings
	scalesPlaces bool
}

// stock is the surface that readings are judged by.
type stock struct {
	on    *surface.Placed
	datum *[2]float64
	frame frame
}

// height is what would be read at place i, at q, over a zero that is set at the datum
// where there is one.
func (s *stock) height(a *amounts, i int, q orb.Point) float64 {
	k := a.scale
	if a.scalesPlaces {
		q = orb.Point{q[0] * mmPerInch, q[1] * mmPerInch}
	}
	h := s.lies(a, q)
	if s.datum != nil {
		h -= s.lies(a, orb.Point(*s.datum))
	}
	if a.upside {
		h = -h
	}
	h += a.zero
	if a.placeOff != 0 && i == a.place {
		h += a.placeOff
	}
	return h * k
}

// lies is how high the stock is at a place.
func (s *stock) lies(a *amounts, q orb.Point) float64 {
	sin, cos := math.Sincos(-a.turn)
	x, y := q[0]-a.shift[0]-s.frame.mid[0], q[1]-a.shift[1]-s.frame.mid[1]
	h, _ := s.on.At(s.frame.mid[0]+cos*x-sin*y, s.frame.mid[1]+sin*x+cos*y)
	u, v := s.frame.local(q)
	return h + a.tilt[0]*u + a.tilt[1]*v + a.press*s.frame.pressed(q)
}

// cause is one explanation that is tried: what its parameters, all of the size of mm,
// make of the amounts, and from where they are looked for.
type cause struct {
	kind   Kind
	set    func(p []float64) amounts
	starts [][]float64
	// most bounds each parameter, 0 where nothing does.
	most []float64
	// price is what it costs besides its parameters: how many like it are tried.
	price float64
}

// causes are all that are tried over n places.
func (s *stock) causes(n int) (all []cause) {
	f := &s.frame
	arm := math.Hypot(f.half[0], f.half[1]) // a turn counts as what it moves the corners by
	add := func(kind Kind, p int, set func(p []float64, a *amounts)) *cause {
		c := cause{kind: kind, starts: [][]float64{make([]float64, p)}, set: func(p []float64) amounts {
			a := amounts{scale: 1}
			set(p, &a)
			return a
		}}
		all = append(all, c)
		return &all[len(all)-1]
	}
	add(Zero, 1, func(p []float64, a *amounts) { a.zero = p[0] })
	for _, withZero := range []int{0, 1} {
		zero := func(p []float64, a *amounts) {
			if withZero > 0 {
				a.zero = p[len(p)-1]
			}
		}
		add(UpsideDown, withZero, func(p []float64, a *amounts) { a.upside = true; zero(p, a) })
		add(Inches, withZero, func(p []float64, a *amounts) { a.scale = 1 / mmPerInch; zero(p, a) })
		add(InchesPlaces, withZero, func(p []float64, a *amounts) { a.scale, a.scalesPlaces = 1/mmPerInch, true; zero(p, a) })
		add(SurfaceInches, withZero, func(p []float64, a *amounts) { a.scale = mmPerInch; zero(p, a) })
		add(Tilted, 2+withZero, func(p []float64, a *amounts) { a.tilt = [2]float64{p[0], p[1]}; zero(p, a) })
		add(Pressed, 1+withZero, func(p []float64, a *amounts) { a.press = p[0]; zero(p, a) })
	}
	for i := range n {
		c := add(OnePlace, 1, func(p []float64, a *amounts) { a.place, a.placeOff = i, p[0] })
		c.price = 2 * math.Log(float64(n))
	}
	for _, quarter := range []float64{0, 1, 2, 3} {
		base := quarter * math.Pi / 2
		price := 0.0
		if quarter > 0 {
			price = 2
			add(Turned, 0, func(_ []float64, a *amounts) { a.turn = base }).price = price
		}
		var c *cause
		if quarter == 0 {
			c = add(Turned, 1, func(p []float64, a *amounts) { a.turn = p[0] / arm })
			c.most = []float64{arm * math.Pi / 4}
			c.starts = [][]float64{{0}, {arm / 8}, {-arm / 8}, {arm / 3}, {-arm / 3}}
			c = add(Shifted, 2, func(p []float64, a *amounts) { a.shift = [2]float64{p[0], p[1]} })
			c.most, c.starts = f.half[:], nil
			for _, u := range []float64{0, -0.15, 0.15, -0.4, 0.4} {
				for _, v := range []float64{0, -0.15, 0.15, -0.4, 0.4} {
					c.starts = append(c.starts, []float64{u * f.half[0], v * f.half[1]})
				}
			}
		}
		c = add(ShiftedTurned, 3, func(p []float64, a *amounts) { a.shift, a.turn = [2]float64{p[0], p[1]}, base+p[2]/arm })
		c.most, c.price, c.starts = []float64{f.half[0] / 2, f.half[1] / 2, arm * math.Pi / 8}, price, nil
		for _, u := range []float64{-0.1, 0.1} {
			for _, v := range []float64{-0.1, 0.1} {
				for _, t := range []float64{-0.06, 0.06} {
					c.starts = append(c.starts, []float64{u * f.half[0], v * f.half[1], t * arm})
				}
			}
		}
	}
	return all
}
