package drawn

import (
	"fmt"
	"math"

	"pgregory.net/rapid"
)

// pen draws a program line by line.
type pen struct {
	lineStyle
	t            *rapid.T
	o            Options
	x, y, z      float64 // as the controller has them, z as programmed; mm
	ox, oy, oz   float64 // the offsets of G92; mm
	stored       [3]float64
	rel, inch    bool
	inverse      bool
	absArcs      bool
	axis         string // moves the focus
	on           []string
	off          string
	work         string
	speaks       string  // of "both", "beam", "power" or "none"
	up           float64 // the way of Z from the stock
	beamInMotion string  // words that the next burn has to say first
	places       int     // of numbers; 0: as is usual
}

// unit is the length in mm of the program's unit, digits how many it writes.
func (p *pen) unit() float64 {
	if p.inch {
		return 25.4
	}
	return 1
}

func (p *pen) digits() int {
	if p.places > 0 {
		return p.places
	}
	if p.inch {
		return 5
	}
	return 3
}

func (p *pen) unitWord() string { return map[bool]string{false: "G21", true: "G20"}[p.inch] }

// axisTo gives the number that takes an axis from one place to another, and
// where it then is.
func (p *pen) axisTo(from, to, offset float64) (text string, at float64) {
	u, base := p.unit(), offset
	if p.rel {
		base = from
	}
	q := math.Pow10(p.digits())
	n := math.Round((to-base)/u*q) / q
	if n == 0 {
		n = 0 // no minus zero
	}
	return fmt.Sprintf("%.*f", p.digits(), n), base + n*u
}

// xy gives the words to go to a place, and goes there.
func (p *pen) xy(x, y float64) string {
	clamp := func(v float64) float64 { return math.Max(0, math.Min(p.o.Side, v)) }
	tx, ax := p.axisTo(p.x, clamp(x), p.ox)
	ty, ay := p.axisTo(p.y, clamp(y), p.oy)
	p.x, p.y = ax, ay
	return "X" + tx + " Y" + ty
}

// zTo gives the word that takes Z to a height.
func (p *pen) zTo(z float64) string {
	text, at := p.axisTo(p.z, z, p.oz)
	p.z = at
	return p.axis + text
}

// to draws a place to go: near, far, along a grid line, or a hair away.
func (p *pen) to() (x, y float64) {
	switch pick(p.t, "reach", "far", "far", "near", "hair", "along") {
	case "near":
		return p.x + between(p.t, "x", -2, 2), p.y + between(p.t, "y", -2, 2)
	case "hair":
		return p.x + pick(p.t, "hx", 0.001, -0.001, 0.05, 0.1), p.y
	case "along":
		return between(p.t, "x", 0, p.o.Side), p.y
	}
	return between(p.t, "x", 0, p.o.Side), between(p.t, "y", 0, p.o.Side)
}

// feedWord is the F word of a burn so many mm long, with a blank before it,
// or none.
func (p *pen) feedWord(length float64) string {
	if p.inverse {
		return fmt.Sprintf(" F%.4f", pick(p.t, "speed", 900.0, 3000)/math.Max(length, 0.01))
	}
	if f := pick(p.t, "f", 0, 0, 300.0, 1500, 6000); f > 0 {
		return " " + p.feed(f)
	}
	return ""
}

// feed is the F word of so many mm/min.
func (p *pen) feed(f float64) string {
	if p.inch {
		return fmt.Sprintf("F%.1f", f/25.4)
	}
	return fmt.Sprintf("F%g", f)
}

// feedAnew says a feed in G94.
func (p *pen) feedAnew() { p.line("%s", p.feed(2000)) }

// absolute goes back to G90.
func (p *pen) absolute() {
	if p.rel {
		p.rel = false
		p.line("G90")
	}
}

// power is a power that burns.
func (p *pen) power() string { return fmt.Sprintf("S%d", rapid.IntRange(1, 999).Draw(p.t, "s")) }

// hasPower reports whether the program says powers.
func (p *pen) hasPower() bool { return p.speaks == "both" || p.speaks == "power" }

// light puts the beam on, or has the next burn do it.
func (p *pen) light() {
	words := ""
	switch p.speaks {
	case "both":
		words = pick(p.t, "on", p.on...) + " " + p.power()
	case "beam":
		words = pick(p.t, "on", p.on...)
	case "power":
		words = p.power()
	default:
		return
	}
	if rapid.IntRange(0, 3).Draw(p.t, "in motion") == 0 {
		p.beamInMotion = words + " "
		return
	}
	p.line("%s", words)
}

// lit gives the words that a burn has to begin with, once.
func (p *pen) lit() string {
	words := p.beamInMotion
	p.beamInMotion = ""
	return words
}

// dark puts the beam off.
func (p *pen) dark() {
	p.beamInMotion = ""
	switch p.speaks {
	case "both":
		p.line("%s", pick(p.t, "off", p.off, p.off, p.off+" S0", "S0 "+p.off))
	case "beam":
		p.line("%s", p.off)
	case "power":
		p.line("S0")
	}
}
