package zone

import (
	"fmt"
	"math"
	"strings"

	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/stream"
)

// stand is where the head stands before the program says where it goes: where that
// counts on to start, or at the zone's focus point; nil where the focus is set on the
// way, or at the datum.
func (o *out) stand() *[2]float64 {
	if o.p.StartXY != nil {
		return o.p.StartXY
	}
	if o.opt.Pause || o.opt.SetZ {
		return nil
	}
	return &[2]float64{o.z.Point.X, o.z.Point.Y}
}

// enters is what the moves ask for on the way from where the head stands, those
// before the beam is first put on or those behind.
func (o *out) enters(lit bool) requirement {
	asked := nothing()
	for way, behind := range o.p.approach.Ways(o.stand()) {
		if behind == lit {
			asked.take(o.opt.asks(way).less(clearance.Programmed(way, o.sigma(), 0, 1)))
		}
	}
	return asked
}

// at is where the head is: as the zone's program has it, or where it stood before;
// and whether that is known.
func (o *out) at() (at machine.Point, known bool) {
	at, _ = o.pen.At()
	has, stand := o.pen.Has(), o.stand()
	x, y := has.XKnown, has.YKnown
	if stand != nil && !x && o.gone&machine.AxisX == 0 {
		at.X, x = stand[0], true
	}
	if stand != nil && !y && o.gone&machine.AxisY == 0 {
		at.Y, y = stand[1], true
	}
	return at, x && y
}

// settled is how high over the datum the focus of the zone is by its setting where its
// program stands, with Z as it is there.
func (o *out) settled() float64 {
	at, _ := o.at()
	return o.set + o.sigma()*at.Z - o.p.focusZ()
}

// stands is how high over the datum the focus of the zone is to be where its program
// stands, with Z as it is there: as the zone's own setting has it, or higher where
// that is not clear.
func (o *out) stands() float64 {
	at, known := o.at()
	z := o.sigma() * at.Z
	height := o.set + z - o.p.focusZ()
	if known {
		height += max(0, o.need(o.opt.travel(at, true, at.X, at.Y), o.p.focusZ())-z)
	}
	return math.Ceil(height*1e3-rounding) / 1e3
}

// raiseTo says to which height the focus is to be raised, on the sheet too. It is set by the
// gauge, by which a lens whose own focus lies further off stands lower than it is to.
func (o *out) raiseTo(height float64) string {
	height += max(0, o.lens.FocusShift)
	o.z.Clear = &height
	return fmt.Sprintf("raise the focus to %.3f mm over the datum or more", height)
}

// checkStart notes that the head cannot stand where the program counts on to start.
func (o *out) checkStart() {
	at := o.p.StartXY
	if at == nil || o.opt.Pause || o.opt.places == nil || o.lens.Standoff == nil {
		return
	}
	tip := *o.lens.Standoff + o.set + o.sigma()*o.p.from.start.at.Z - o.p.focusZ()
	if by := o.opt.places.Highest(&machine.Move{To: machine.Point{X: at[0], Y: at[1]}}) - tip; by > o.opt.Rounding()+rounding {
		o.fails.add(0, "the program counts on starting at %s, where the head cannot stand at the setting of zone %d: its tip would be too close to what stands about it by %.3f mm; start elsewhere (--start)",
			phrase.XY(at[0], at[1]), o.z.Order, by)
	}
}

// start is from where a program counts on to start: places are relative to it, or
// its first travels run as high as it is.
type start struct {
	at machine.Point
	// xy tells that it matters over XY, z that it does as Z is relative, and high
	// that travels run at its Z.
	xy, z, high bool
	said        bool // a Z
}

// take takes a motion before it was said where the head is.
func (s *start) take(it *stream.Item) {
	m := &it.Move
	if !m.FromUnknown && m.Lost == 0 {
		s.xy, s.at.X, s.at.Y = true, m.From.X, m.From.Y
	}
	if s.said {
		return
	}
	s.at.Z = m.From.Z
	switch over := it.Actions.X != 0 || it.Actions.Y != 0; {
	case it.Actions.Z != 0:
		s.said, s.z = true, it.During.Relative
	case over:
		s.high = true
	}
}

// say says it where it matters: the focus is set at firstZ, and the head stands
// there.
func (s *start) say(sigma, firstZ float64) (xy *[2]float64, text string) {
	var words []string
	if s.xy {
		xy = &[2]float64{s.at.X, s.at.Y}
		words = append(words, phrase.XY(s.at.X, s.at.Y))
	}
	if up := sigma * (s.at.Z - firstZ); s.z && up != 0 || s.high && up > 0 {
		words = append(words, "Z"+phrase.Trimmed(s.at.Z, 3))
	}
	return xy, strings.Join(words, " ")
}
