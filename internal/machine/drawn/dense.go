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
	p.rel, p.inch, p.lower = rapid.Bool().Draw(t, "rel"), rapid.Bool().Draw(t, "inch"), rapid.Bool().Draw(t, "lower")
	blank, eol := pick(t, "blank", " ", ""), pick(t, "eol", "\n", "\r\n")
	p.spelling.t, p.eol, p.final = t, []string{eol}, true
	if p.inch {
		p.places++
		p.b.WriteString("G20\n")
	}
	p.b.WriteString("M5\nG0 " + p.xy(5+50*between(t, "x", 0, 1), 30) + "\n")
	if p.rel {
		p.b.WriteString("G91\n")
	}
	p.b.WriteString(pick(t, "beam", "M3 S500\n", "M4 S500\n"))
	feed := pick(t, "feed", 40, 200.0, 3000)
	fmt.Fprintf(&p.b, "G1 F%g\n", feed)
	kind := rapid.SampledFrom([]string{"row", "row", "wander", "turn", "stay", "other", "far", "arcs"})
	for range rapid.IntRange(1, 12).Draw(t, "runs") {
		n := rapid.IntRange(1, 120).Draw(t, "n")
		step := pick(t, "step", 0.02, 0.1, 0.1, 0.4, 1.3)
		dx, dy, spin := step, 0.0, 0.0
		switch kind.Draw(t, "kind") {
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
			bend(p, rapid.IntRange(1, 20).Draw(t, "arcs"), blank, eol)
			continue
		case "other":
			p.b.WriteString(pick(t, "line", "(why)", "M5", "M3", "S0", "S300 ; on", "F120", "G4 P0.1", "G1 F333", "G0 Z1", "M0", "X0 ; x", "G92", "G92", "G28 Z1") + eol)
			if strings.HasSuffix(p.b.String(), "X0 ; x"+eol) && !p.rel {
				p.x = p.ox
			}
			if s := p.b.String(); strings.HasSuffix(s, "G92"+eol) {
				p.b.Reset()
				p.b.WriteString(strings.TrimSuffix(s, "G92"+eol))
				p.offset()
			} else if strings.HasSuffix(s, "G28 Z1"+eol) {
				// Z is said again by an absolute word with the beam off.
				back := map[bool]string{true: "G91", false: "G90"}[p.rel]
				p.b.WriteString("M5" + eol + "G90 G0 Z0" + eol + back + " G1" + eol + "M3" + eol)
			}
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
			default:
				words = x + blank + y
			}
			if power > 0 && k%power == 0 {
				words += fmt.Sprintf("%sS%d", blank, pick(t, "s", 0, 0, 300, 999))
			}
			if k%17 == 3 {
				words += fmt.Sprintf("%sF%g", blank, feed)
			}
			if k%23 == 5 {
				words = "G1" + blank + words
			}
			if p.lower {
				words = strings.ToLower(words)
			}
			p.b.WriteString(words + eol)
			sin, cos := math.Sincos(spin)
			dx, dy = dx*cos-dy*sin, dx*sin+dy*cos
		}
	}
	p.b.WriteString("M5\n" + pick(t, "end", "", "G90\nG0 X0 Y0\n", "M2\n", "X0\nX1"))
	return p.b.String()
}

// bend draws arcs, small and large, modal and not, and goes back to G1.
func bend(p *pen, n int, blank, eol string) {
	motion := 0
	for range n {
		a := between(p.t, "a", 0, 6.3)
		r := pick(p.t, "r", 0.2, 1, 4, 9)
		cx, cy := p.x+r*math.Cos(a), p.y+r*math.Sin(a)
		b := a + math.Pi + pick(p.t, "sweep", -3.0, -0.3, 0.01, 1, 2, 6)
		x, y := cx+r*math.Cos(b), cy+r*math.Sin(b)
		if min(x, y, cx-r, cy-r) < 0 || max(x, y, cx+r, cy+r) > p.o.Side {
			continue
		}
		x0, y0 := p.x, p.y
		words := strings.Replace(p.xy(x, y), " ", blank, 1)
		unit := p.unit()
		// The centre that is as far from the rounded ends as can be.
		dx, dy := p.x-x0, p.y-y0
		if d := math.Hypot(dx, dy); d > 0 && d < 2*r {
			h := math.Sqrt(r*r - d*d/4)
			if (cx-x0)*dy-(cy-y0)*dx > 0 {
				h = -h
			}
			cx, cy = x0+dx/2-h*dy/d, y0+dy/2+h*dx/d
		}
		q := math.Pow10(p.places + 2)
		i, j := math.Round((cx-x0)/unit*q)/q, math.Round((cy-y0)/unit*q)/q
		r0, r1 := math.Hypot(i, j)*unit, math.Hypot(p.x-x0-i*unit, p.y-y0-j*unit)
		if math.Abs(r0-r1) > 0.0015 || r0 < 0.05 {
			p.x, p.y = x0, y0
			continue
		}
		words += fmt.Sprintf("%sI%.*f%sJ%.*f", blank, p.places+2, i, blank, p.places+2, j)
		if m := rapid.IntRange(2, 3).Draw(p.t, "motion"); m != motion {
			words, motion = fmt.Sprintf("G%d%s%s", m, blank, words), m
		}
		if p.lower {
			words = strings.ToLower(words)
		}
		p.b.WriteString(words + eol)
	}
	if motion != 0 {
		words := "G1" + blank + strings.Replace(p.xy(p.x+0.5, p.y), " ", blank, 1)
		p.b.WriteString(words + eol)
	}
}
