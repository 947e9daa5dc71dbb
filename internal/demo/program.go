package demo

import "sagitta/internal/program"

// The sheet, in mm, from its lower left corner.
const (
	Width  = 300.0
	Height = 200.0
	// Margin is how far every burn stays from the sheet's edge, in mm.
	Margin = 5.0
)

// title is what the chart is called.
const title = "THE LANTERN CUT"

// Program gives the job, as a G-code program in mm with absolute coordinates.
// Each call gives the same bytes, in a slice of its own.
func Program() []byte {
	p := &pen{hand: plain}
	p.header()
	p.frame()
	p.lettering()
	p.lanterns()
	p.canal()
	p.relief()
	p.land()
	p.rose()
	p.mere()
	p.footer()
	return p.out
}

func (p *pen) header() {
	p.comment(title + ": a chart of a canal that never was")
	p.comment("sheet: birch plywood, 300 x 200 x 4 mm, zero at the lower left corner")
	p.comment("focus: on the surface at X25 Y25")
	p.comment("mask the sheet, burn with the exhaust on, do not leave the bench")
	p.raw("G21")
	p.raw("G90 G94")
	p.raw("G17")
	p.raw("M5 S0")
	p.travel(frameOuter, frameOuter)
}

func (p *pen) footer() {
	p.hand = plain
	p.raw("M5")
	p.raw("G0 X0 Y0")
	p.comment("end of " + title)
	p.raw("M2")
}

// beam switches the beam on, at no power, for what follows in a hand.
func (p *pen) beam(h hand, word, what string) {
	p.hand = h
	p.comment(what)
	p.raw(word + " S0")
	p.powerNow = program.Number{}
}

// off switches the beam off.
func (p *pen) off() { p.raw("M5") }
