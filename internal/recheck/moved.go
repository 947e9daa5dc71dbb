package recheck

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// plain is the one cause of which it is plain how the surface lies by it; nil where
// there is none, or several are left.
func (a *Answer) plain() *Cause {
	if len(a.Causes) != 1 {
		return nil
	}
	switch c := &a.Causes[0]; c.Kind {
	case Zero, Tilted, Pressed, Shifted, Turned, ShiftedTurned:
		return c
	}
	return nil
}

// lies is where a surface lies that is moved as a cause has it: as in surface.Placement.
func (q *Question) lies(c *Cause) (shift [2]float64, rotateDeg float64) {
	f := frameOf(q.Surface, nil)
	x, y := q.Surface.Program(0, 0)
	ax, ay := q.Surface.Program(1, 0)
	sin, cos := math.Sincos(c.turn)
	dx, dy := x-f.mid[0], y-f.mid[1]
	shift = [2]float64{f.mid[0] + c.shift[0] + cos*dx - sin*dy, f.mid[1] + c.shift[1] + sin*dx + cos*dy}
	return shift, math.Remainder(math.Atan2(ay-y, ax-x)+c.turn, 2*math.Pi) * 180 / math.Pi
}

// Moved is the surface as it lies now, measured being its file: unchanged where it
// holds and nothing shows, nil where it is not plain how it lies.
func (a *Answer) Moved(q *Question, measured *surface.Surface) (*surface.Surface, error) {
	if a.Causes == nil {
		return measured, nil
	}
	c := a.plain()
	if c == nil || measured.Header().WrapsYMM > 0 && c.Kind != Zero {
		return nil, nil
	}
	h := measured.Header()
	h.Method = q.Surface.Method()
	aside := c.Kind == Shifted || c.Kind == Turned || c.Kind == ShiftedTurned
	if aside {
		shift, rotate := q.lies(c)
		h.Shift, h.RotateDeg = &shift, rotate
	}
	s := &stock{on: q.Surface, datum: q.Datum, frame: frameOf(q.Surface, nil)}
	straight, lower := amounts{scale: 1}, 0.0
	if q.Datum != nil { // heights then count from the zero as it is set now
		lower = s.lies(&c.amounts, orb.Point(*q.Datum))
		h.Datum = nil
	}
	x, y := measured.X(), measured.Y()
	var z, errors []float64
	for j := range y {
		for i := range x {
			v := measured.Height(i, j)
			px, py := q.Surface.Program(x[i], y[j])
			switch at := (orb.Point{px, py}); {
			case v != v:
			case !aside:
				v = s.height(&c.amounts, -1, at)
			default:
				v = s.lies(&straight, at) - lower
			}
			z, errors = append(z, v), append(errors, measured.ErrorAt(i, j))
		}
	}
	moved, err := surface.New(slices.Clone(x), slices.Clone(y), z)
	if err == nil && measured.ErrorsVary() {
		moved, err = moved.WithErrors(errors)
	}
	if err != nil {
		return nil, err
	}
	return moved.WithHeader(h)
}

// Text says what a cause is and comes to.
func (c *Cause) Text(q *Question, reads []Read) string {
	sure := func(k int) float64 {
		if k < len(c.Sure) {
			return c.Sure[k]
		}
		return 0
	}
	mm := func(v float64, k int) string {
		return phrase.Signed(v, 3) + fmt.Sprintf(" mm (± %s)", phrase.MM(sure(k)))
	}
	size := func(v float64, k int) string {
		return phrase.MM(math.Abs(v)) + fmt.Sprintf(" mm (± %s)", phrase.MM(sure(k)))
	}
	zero := ""
	if c.zero != 0 && c.Kind != Zero {
		zero = "; and the zero is off by " + mm(c.zero, len(c.Sure)-1)
	}
	switch c.Kind {
	case Zero:
		way := "higher"
		if c.zero < 0 {
			way = "lower"
		}
		text := fmt.Sprintf("the zero is off: everything reads %s %s than measured; set the zero anew, or move it by as much", size(c.zero, 0), way)
		if by := q.Turn.By(c.zero); by != "" {
			text += ": " + by
		}
		return text
	case UpsideDown:
		return "upside down: what is higher on the surface reads lower; give --down with the readings, or measure the surface the right way up" + zero
	case Inches:
		return "the heights read are in inches and were taken for mm: give them in mm" + zero
	case InchesPlaces:
		return "the readings, places and all, are in inches and were taken for mm: give --units in" + zero
	case SurfaceInches:
		return "the readings are 25.4 times the heights of the surface: that was measured in inches and taken for mm" + zero
	case Shifted, Turned, ShiftedTurned:
		return c.moves(q, sure)
	case Tilted:
		return fmt.Sprintf("tilted: from the middle to the side it rises along X by %s, along Y by %s%s", mm(c.tilt[0], 0), mm(c.tilt[1], 1), zero)
	case Pressed:
		if c.press < 0 {
			return fmt.Sprintf("the middle stands up by %s against the edges%s", size(c.press, 0), zero)
		}
		return fmt.Sprintf("pressed down in the middle by %s against the edges%s", size(c.press, 0), zero)
	case OnePlace:
		at := reads[c.place].At
		return fmt.Sprintf("the place at %s alone is off, by %s: touch it again; something may lie there", phrase.XY(at[0], at[1]), mm(c.placeOff, 0))
	}
	return "another sheet, or one that lies quite otherwise: nothing simple explains it; measure it anew"
}

// moves says of stock that is moved how, and what lays the surface there.
func (c *Cause) moves(q *Question, sure func(int) float64) string {
	f := frameOf(q.Surface, nil)
	arm := math.Hypot(f.half[0], f.half[1])
	what, k := "", 0
	if c.Kind != Turned {
		what = fmt.Sprintf(", moved by X%s Y%s mm (± %s, %s)", phrase.Signed(c.shift[0], 2), phrase.Signed(c.shift[1], 2), phrase.Trimmed(sure(0), 2), phrase.Trimmed(sure(1), 2))
		k = 2
	}
	if c.Kind != Shifted {
		what += fmt.Sprintf(", turned by %s degrees", phrase.Signed(c.turn*180/math.Pi, 2))
		if u := sure(k) / arm * 180 / math.Pi; u > 0 {
			what += fmt.Sprintf(" (± %s)", phrase.Trimmed(u, 2))
		}
		what += " about its middle"
	}
	shift, rotate := q.lies(c)
	datum := ""
	if d := q.Datum; d != nil { // where the zero was set, which does not move with the stock
		datum = fmt.Sprintf(" --datum=%s,%s", phrase.Trimmed(d[0], 3), phrase.Trimmed(d[1], 3))
	}
	return fmt.Sprintf("the stock lies aside%s: put it back, or give --shift=%s,%s --rotate=%s%s", what,
		phrase.Trimmed(shift[0], 3), phrase.Trimmed(shift[1], 3), phrase.Trimmed(rotate, 3), datum)
}
