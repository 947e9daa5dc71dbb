package drawn

import (
	"fmt"
	"math"
	"strings"

	"pgregory.net/rapid"
)

// Dense draws a program of short lines, as rasters and traced curves have
// them: runs along an axis and back, turns, wandering, pixels without power,
// lines that are not plain among them.
func Dense(t *rapid.T, side float64) string {
	p := &pen{t: t, o: Options{Side: side}, axis: "Z", places: rapid.IntRange(1, 4).Draw(t, "digits")}
	p.rel, p.inch = rapid.Bool().Draw(t, "rel"), rapid.Bool().Draw(t, "inch")
	p.lineStyle = lineStyle{t: t, lower: rapid.Bool().Draw(t, "lower"), gaps: pick(t, "gaps", even, tight),
		eol: []string{pick(t, "eol", "\n", "\r\n")}, final: rapid.Bool().Draw(t, "final")}
	if p.inch {
		p.places++
		p.line("G20")
	}
	p.line("M5")
	p.line("G0 %s", p.xy(5+50*between(t, "x", 0, 1), 30)) // the same in G91
	if p.rel {
		p.line("G91")
	}
	p.line("%s", pick(t, "beam", "M3 S500", "M4 S500"))
	feed := pick(t, "feed", 40, 200.0, 3000)
	p.line("G1 F%g", feed)
	for range rapid.IntRange(1, 12).Draw(t, "runs") {
		n := rapid.IntRange(1, 120).Draw(t, "n")
		step := pick(t, "step", 0.02, 0.1, 0.1, 0.4, 1.3)
		dx, dy, spin := step, 0.0, 0.0
		switch pick(t, "kind", "row", "row", "wander", "turn", "stay", "other", "far", "arcs") {
		case "row":
			if rapid.Bool().Draw(t, "y") {
				dx, dy = dy, dx
			}
			if p.x > side/2 {
				dx = -dx
			}
			if p.y > side/2 {
				dy = -dy
			}
		case "wander":
			a := between(t, "a", 0, 7)
			dx, dy = step*math.Cos(a), step*math.Sin(a)
			spin = between(t, "spin", -0.3, 0.3)
		case "turn":
			n, dx, dy = 1, 0, step
		case "stay":
			n, dx = rapid.IntRange(1, 2).Draw(t, "times"), 0
		case "far":
			n, dx, dy = 1, side*between(t, "dx", -1, 1), side*between(t, "dy", -1, 1)
		case "arcs":
			p.bend(rapid.IntRange(1, 20).Draw(t, "arcs"))
			continue
		case "other":
			p.other()
			continue
		}
		power := pick(t, "power", 0, 1, 1, 3, 40) // so many lines of one power
		for k := range n {
			atX, atY := p.x, p.y
			words := p.xy(p.x+dx, p.y+dy)
			x, y, _ := strings.Cut(words, " ")
			switch { // an axis that is not said stays, between two decimals or not
			case dy == 0 && spin == 0:
				words, p.y = x, atY
			case dx == 0 && spin == 0:
				words, p.x = y, atX
			}
			if power > 0 && k%power == 0 {
				words += fmt.Sprintf(" S%d", pick(t, "s", 0, 0, 300, 999))
			}
			if k%17 == 3 {
				words += fmt.Sprintf(" F%g", feed)
			}
			if k%23 == 5 {
				words = "G1 " + words
			}
			p.line("%s", words)
			sin, cos := math.Sincos(spin)
			dx, dy = dx*cos-dy*sin, dx*sin+dy*cos
		}
	}
	p.line("M5")
	switch pick(t, "end", "none", "home", "M2", "more") {
	case "home":
		p.absolute()
		p.line("G0 X0 Y0")
	case "M2":
		p.line("M2")
	case "more":
		p.line("X0")
		p.line("X1")
	}
	return p.text()
}

// other draws a line that is not plain.
func (p *pen) other() {
	switch line := pick(p.t, "line", "(why)", "M5", "M3", "S0", "S300 ; on", "F120", "G4 P0.1", "G1 F333", "G0 Z1", "M0", "X0 ; x", "G92", "G92", "G28 Z1"); line {
	case "G92":
		p.offset()
	case "G28 Z1":
		p.line("%s", line)
		p.line("M5")
		p.line("G90 G0 Z0") // Z is said again by an absolute word with the beam off
		p.line("%s G1", map[bool]string{true: "G91", false: "G90"}[p.rel])
		p.line("M3")
	default:
		p.line("%s", line)
		if line == "X0 ; x" && !p.rel {
			p.x = p.ox
		}
	}
}

// bend draws arcs, small and large, modal and not, and goes back to G1.
func (p *pen) bend(n int) {
	motion := 0
	for range n {
		sin, cos := math.Sincos(between(p.t, "a", 0, 6.3))
		chord := pick(p.t, "chord", 0.2, 1, 4, 9)
		words, ok := p.arcTo(p.x+chord*cos, p.y+chord*sin, pick(p.t, "beside", -8.0, -0.6, -0.1, 0, 0.3, 2))
		if !ok {
			continue
		}
		if m := rapid.IntRange(2, 3).Draw(p.t, "motion"); m != motion {
			words, motion = fmt.Sprintf("G%d %s", m, words), m
		}
		p.line("%s", words)
	}
	if motion != 0 {
		p.line("G1 %s", p.xy(p.x+0.5, p.y))
	}
}
