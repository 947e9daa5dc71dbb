package demo

import (
	"math"

	"sagitta/internal/program"
	"sagitta/internal/stroke"
)

// hand is how a drawing program writes its lines.
type hand uint8

const (
	tight     hand = 1 << iota // no blanks between words
	fixed                      // coordinates keep the zeros at their end
	modal                      // a motion word that holds is left out
	dark                       // travels say S0
	lower                      // letters in lower case
	semicolon                  // comments after a semicolon
)

// The hands of the job.
const (
	plain   hand = 0
	careful      = dark
	steady       = fixed | modal | semicolon
	compact      = tight | modal
	small        = lower | semicolon
)

const (
	// decimals of X and Y, of mm.
	decimals = 3
	// decimalsCentre of I and J: one more keeps the radii at the two ends
	// of an arc alike within RS274's 0.002 mm, wherever they round to.
	decimalsCentre = 4
	// scale is a coordinate's last decimal, per mm.
	scale = 1000
)

// pen writes a program.
type pen struct {
	hand hand
	out  []byte
	// x, y is where the head stands as written, in units of the last
	// decimal.
	x, y     int64
	relative bool
	// motion is the motion word in force; feed and power are wanted for the
	// next burn, those with Now are in force.
	motion            string
	feed, power       int64
	feedNow, powerNow program.Number
}

// is tells whether the hand writes in a way.
func (p *pen) is(way hand) bool { return p.hand&way != 0 }

// raw writes a line as it is.
func (p *pen) raw(line string) {
	p.out = append(append(p.out, line...), '\n')
	p.motion = ""
}

// comment writes a line that is a comment.
func (p *pen) comment(text string) {
	if p.is(semicolon) {
		p.out = append(append(append(p.out, "; "...), text...), '\n')
		return
	}
	p.out = append(append(append(p.out, '('), text...), ")\n"...)
}

// remark puts a comment at the end of the line just written.
func (p *pen) remark(text string) {
	p.out[len(p.out)-1] = ' '
	p.comment(text)
}

// word appends a word to the line begun at start.
func (p *pen) word(start int, letter byte, n program.Number) {
	if len(p.out) > start && !p.is(tight) {
		p.out = append(p.out, ' ')
	}
	if p.is(lower) {
		letter |= 0x20
	}
	if !p.is(fixed) || n.Dec == decimalsCentre {
		n = n.Trim()
	}
	p.out = n.Append(append(p.out, letter))
}

// move writes a motion word and the coordinates of an end, and tells whether
// it goes anywhere. last writes more words before the line ends.
func (p *pen) move(motion string, x, y float64, last func(start int)) {
	tx, ty := program.Round(x, decimals).Mant, program.Round(y, decimals).Mant
	start := len(p.out)
	if !p.is(modal) || motion != p.motion {
		g := []byte(motion)
		if p.is(lower) {
			g[0] |= 0x20
		}
		p.out = append(p.out, g...)
	}
	ax, ay := tx, ty
	if p.relative {
		ax, ay = tx-p.x, ty-p.y
	}
	if tx != p.x || motion != "G1" {
		p.word(start, 'X', program.Number{Mant: ax, Dec: decimals})
	}
	if ty != p.y || motion != "G1" {
		p.word(start, 'Y', program.Number{Mant: ay, Dec: decimals})
	}
	last(start)
	p.out = append(p.out, '\n')
	p.x, p.y, p.motion = tx, ty, motion
}

// travel goes to x, y with the beam off.
func (p *pen) travel(x, y float64) {
	p.move("G0", x, y, func(start int) {
		if p.is(dark) && p.powerNow.Mant != 0 {
			p.powerNow = program.Number{}
			p.word(start, 'S', p.powerNow)
		}
	})
}

// burning writes the power and feed of a burn where they are new.
func (p *pen) burning(start int) {
	if s := program.Int(p.power); s != p.powerNow {
		p.powerNow = s
		p.word(start, 'S', s)
	}
	if f := program.Int(p.feed); f != p.feedNow {
		p.feedNow = f
		p.word(start, 'F', f)
	}
}

// line burns a straight line to x, y. One that is gone in rounding is left
// out.
func (p *pen) line(x, y float64) {
	if program.Round(x, decimals).Mant == p.x && program.Round(y, decimals).Mant == p.y {
		return
	}
	p.move("G1", x, y, p.burning)
}

// polyline travels to the first point and burns through the others.
func (p *pen) polyline(pts []stroke.Point) {
	p.travel(pts[0].X, pts[0].Y)
	for _, q := range pts[1:] {
		p.line(q.X, q.Y)
	}
}

// arc burns an arc to x, y about cx, cy, given by its centre.
func (p *pen) arc(left bool, x, y, cx, cy float64) {
	p.move(turn(left), x, y, func(start int) {
		p.word(start, 'I', program.Round(cx-float64(p.x)/scale, decimalsCentre))
		p.word(start, 'J', program.Round(cy-float64(p.y)/scale, decimalsCentre))
		p.burning(start)
	})
}

// circle burns a full circle about cx, cy from its rightmost point.
func (p *pen) circle(left bool, cx, cy, r float64) {
	p.travel(cx+r, cy)
	p.arc(left, cx+r, cy, cx, cy)
}

// radiusArc burns an arc to x, y given by its radius: the longer of the two
// where it is below zero.
func (p *pen) radiusArc(left bool, x, y, r float64) {
	p.move(turn(left), x, y, func(start int) {
		p.word(start, 'R', program.Round(r, decimalsCentre))
		p.burning(start)
	})
}

// turn gives the motion word of an arc.
func turn(left bool) string {
	if left {
		return "G3"
	}
	return "G2"
}

// polar gives the point at an angle in degrees and a radius.
func polar(cx, cy, r, deg float64) (x, y float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return cx + r*cos, cy + r*sin
}
