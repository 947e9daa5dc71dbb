package drawn

import (
	"fmt"
	"math"
	"strings"

	"pgregory.net/rapid"
)

// approach travels to where a figure begins.
func (p *pen) approach() {
	if !rapid.Bool().Draw(p.t, "retract") {
		p.line("G0 %s", p.xy(p.to()))
		return
	}
	z := 0.0
	if p.may(Passes) {
		z = pick(p.t, "pass", 0, 0, 0, -0.4, -1.27)
	}
	p.lift(2)
	p.line("G0 %s", p.xy(p.to()))
	for range max(0, rapid.IntRange(0, 9).Draw(p.t, "hops")-7) { // on the way
		p.lift(-1)
		p.line("G0 %s", p.xy(p.to()))
	}
	if rapid.IntRange(0, 5).Draw(p.t, "aslant") == 0 {
		p.line("G0 %s %s", p.xy(p.to()), p.zTo(z))
		return
	}
	p.line("%s", p.zTo(z))
}

// lift rises by so many mm or more, as far as programs do; below 0 it may go down as far.
func (p *pen) lift(least float64) {
	up := p.up * max(-1, least*pick(p.t, "lift", 1.0, 1, 2.5, 6))
	if p.speaks == "both" && !p.inverse && rapid.IntRange(0, 5).Draw(p.t, "feed") == 0 {
		p.line("%s G1 %s%s", p.off, p.zTo(p.z+up), p.feedWord(2)) // under power it would mark
		p.line("G0")
		return
	}
	words := ""
	if rapid.IntRange(0, 5).Draw(p.t, "rising") == 0 {
		words = p.xy(p.to()) + " "
	}
	p.line("G0 %s%s", words, p.zTo(p.z+up))
}

// interlude draws something between two figures, the beam off.
func (p *pen) interlude() {
	t := p.t
	switch pick(t, "between", "away", "away", "offset", "offset", "arcs", "pause", "program", "note") {
	case "away":
		p.away()
	case "offset":
		p.offset()
	case "arcs":
		if p.may(CentrePlaces) {
			p.absArcs = !p.absArcs
			p.line("%s", p.arcsWord())
		}
	case "pause":
		if p.may(Between) {
			p.line("%s", pick(t, "pause", "M0", "M1"))
		}
	case "program":
		if p.may(Ends) && p.may(Between) {
			p.line("M30")
			p.rel, p.inverse, p.ox, p.oy, p.oz = false, false, 0, 0, 0
			p.line("G90 G94 %s %s %s", p.work, p.arcsWord(), p.feed(2000))
		}
	case "note":
		if p.may(Between) && pick(t, "text", false, true) {
			p.textLine("M117 X1 Y2")
		} else {
			p.line("%s", pick(t, "note", "G61.1", "M8", "G64 P0.01"))
		}
	}
}

func (p *pen) arcsWord() string { return map[bool]string{true: "G90.1", false: "G91.1"}[p.absArcs] }

// offset draws a G92 or a word that takes one away or back.
func (p *pen) offset() {
	if !p.may(Offsets) {
		return
	}
	switch named := pick(p.t, "offset", "X", "XY", "Z", "Z", "none", "back"); named {
	case "none":
		word := pick(p.t, "none", "G92.1", "G92.2")
		p.line("%s", word)
		p.ox, p.oy, p.oz = 0, 0, 0
		if word == "G92.1" {
			p.stored = [3]float64{}
		}
	case "back":
		p.line("G92.3")
		p.ox, p.oy, p.oz = p.stored[0], p.stored[1], p.stored[2]
	default:
		words, at := "G92", [...]float64{p.x, p.y, p.z}
		offset, letters := [...]*float64{&p.ox, &p.oy, &p.oz}, [...]string{"X", "Y", p.axis}
		for k, axis := range []string{"X", "Y", "Z"} {
			if strings.Contains(named, axis) {
				v := math.Round(between(p.t, axis, -3, 3)*1000) / 1000
				words += fmt.Sprintf(" %s%.3f", letters[k], v)
				*offset[k] = at[k] - v*p.unit()
			}
		}
		p.line("%s", words)
		p.stored = [3]float64{p.ox, p.oy, p.oz}
	}
}

// away draws travels to places that only the machine knows, with the beam
// off, and back.
func (p *pen) away() {
	stored, machine := p.may(StoredPlaces), p.may(MachinePlaces)
	switch {
	case stored && (!machine || pick(p.t, "by", "home", "machine") == "home"):
		p.toStored()
	case machine:
		p.toMachine()
	}
}

func (p *pen) toMachine() {
	what := pick(p.t, "what", "Z", "XY", "XYZ")
	words := map[string]string{"Z": p.axis + "0", "XY": "X0 Y0", "XYZ": "X0 Y0 " + p.axis + "0"}[what]
	p.line("G53 G0 %s", words)
	p.absolute()
	if what != "XY" && rapid.Bool().Draw(p.t, "first") {
		p.line("G0 %s", p.zTo(between(p.t, "z", 0, 1)))
	}
	p.line("G0 %s", p.xy(p.to()))
	if what != "XY" {
		p.line("G0 %s", p.zTo(0))
	}
}

func (p *pen) toStored() {
	switch pick(p.t, "named", "all", "Z", "X") {
	case "all":
		p.line("%s", pick(p.t, "g", "G28", "G30"))
		p.absolute()
		if rapid.Bool().Draw(p.t, "one by one") {
			p.line("G0 X%.*f", p.digits(), -p.ox/p.unit())
			p.x = 0
		}
		p.line("G0 %s %s", p.xy(p.to()), p.zTo(0))
	case "Z":
		p.line("G28 %s%s", p.axis, map[bool]string{true: "0", false: "5"}[p.rel])
		p.absolute()
		p.line("G0 %s", p.xy(p.to()))
		p.line("G0 %s", p.zTo(0))
	case "X":
		p.line("G28 X1")
		p.absolute()
		p.line("G0 %s", p.xy(p.to()))
	}
}
