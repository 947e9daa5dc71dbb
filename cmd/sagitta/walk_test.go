package main

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// What a head does that runs a program: a plain walker of the written text, which
// shares nothing with the rooms that read programs.

// at is a place of the head in mm, as the controller counts; a part of it may not
// be known.
type at struct {
	x, y, z    float64
	kx, ky, kz bool
}

// leg is one motion, or a wait.
type leg struct {
	line int
	// way are the places it goes through, straight between them: one where it is not
	// known from where it comes.
	way  []at
	burn bool
	// rapid tells that it goes as fast as it can.
	rapid bool
	// wait tells that the program waits for the operator, who is told said by the
	// comment before.
	wait bool
	said string
}

// dialect is what a bench's programs mean.
type dialect struct {
	axis    byte
	on, off []int
	inches  bool
}

// walker is the state of the controller.
type walker struct {
	dialect
	at
	relative, placed, inch bool // placed: centres of arcs are places
	motion                 int
	offset, stored         [3]float64
	lit, powered           bool
	legs                   []leg
	said                   string
}

var words = regexp.MustCompile(`([A-Z])([-+]?[0-9.]+)`)

// walk gives what a program does from a place on.
func walk(text string, from at, d dialect) []leg {
	w := &walker{dialect: d, at: from, inch: d.inches, powered: false}
	for k, line := range strings.Split(text, "\n") {
		w.block(k+1, strings.TrimRight(line, "\r"))
	}
	return w.legs
}

// block runs a line.
func (w *walker) block(n int, line string) {
	if k := strings.IndexByte(line, ';'); k >= 0 {
		if c := strings.TrimSpace(line[k+1:]); c != "" {
			w.said = c
		}
		line = line[:k]
	}
	for {
		a, b := strings.IndexByte(line, '('), strings.IndexByte(line, ')')
		if a < 0 || b < a {
			break
		}
		w.said = line[a+1 : b]
		line = line[:a] + line[b+1:]
	}
	if k := strings.IndexByte(line, '*'); k >= 0 {
		line = line[:k]
	}
	line = strings.ToUpper(strings.Join(strings.Fields(line), ""))
	if line == "" || strings.ContainsAny(line[:1], "%O$:") || strings.Contains(line, "M117") {
		return
	}
	var g, m []float64
	val := map[byte]float64{}
	for _, f := range words.FindAllStringSubmatch(line, -1) {
		v, _ := strconv.ParseFloat(f[2], 64)
		switch letter := f[1][0]; letter {
		case 'G':
			g = append(g, v)
		case 'M':
			m = append(m, v)
		default:
			val[letter] = v
		}
	}
	if p, is := val['S']; is {
		w.powered = p > 0
	}
	w.codes(g, val)
	ends, waits := false, false
	for _, v := range m {
		for _, on := range w.on {
			w.lit = w.lit || int(v) == on
		}
		for _, off := range w.off {
			w.lit = w.lit && int(v) != off
		}
		ends = ends || v == 2 || v == 30
		waits = waits || v == 0 || v == 1
	}
	w.move(n, g, val)
	if waits {
		w.legs = append(w.legs, leg{line: n, way: []at{w.at}, wait: true, said: w.said})
	}
	if ends {
		w.lit, w.relative, w.motion, w.offset = false, false, 1, [3]float64{}
	}
}

// has reports whether a block has one of these G words.
func has(g []float64, codes ...float64) bool {
	for _, v := range g {
		for _, c := range codes {
			if v == c {
				return true
			}
		}
	}
	return false
}

// codes takes the modes and offsets of a block.
func (w *walker) codes(g []float64, val map[byte]float64) {
	for _, v := range g {
		switch v {
		case 0, 1, 2, 3:
			w.motion = int(v)
		case 20, 21:
			w.inch = v == 20
		case 90, 91:
			w.relative = v == 91
		case 90.1, 91.1:
			w.placed = v == 90.1
		case 92.1, 92.2:
			w.offset = [3]float64{}
			if v == 92.1 {
				w.stored = [3]float64{}
			}
		case 92.3:
			w.offset = w.stored
		case 92:
			now := [3]float64{w.x, w.y, w.z}
			for k, l := range []byte{'X', 'Y', w.axis} {
				if v, is := val[l]; is {
					w.offset[k] = now[k] - v*w.unit()
				}
			}
			w.stored = w.offset
		}
	}
}

func (w *walker) unit() float64 {
	if w.inch {
		return 25.4
	}
	return 1
}

// move takes the motion of a block.
func (w *walker) move(n int, g []float64, val map[byte]float64) {
	to, said := w.at, false
	for k, l := range []byte{'X', 'Y', w.axis} {
		v, is := val[l]
		if !is {
			continue
		}
		said = true
		p, known := [...]*float64{&to.x, &to.y, &to.z}[k], [...]*bool{&to.kx, &to.ky, &to.kz}[k]
		if w.relative {
			*p += v * w.unit()
		} else {
			*p, *known = v*w.unit()+w.offset[k], true
		}
	}
	_, full := val['I']
	switch {
	case has(g, 28, 30, 53):
		// To a place that only the machine knows.
		all := !said
		for k, l := range []byte{'X', 'Y', w.axis} {
			if _, is := val[l]; is || all {
				*[...]*bool{&w.kx, &w.ky, &w.kz}[k] = false
			}
		}
		return
	case has(g, 92):
		return
	case has(g, 4):
		w.legs = append(w.legs, leg{line: n, way: []at{w.at}, burn: w.lit && w.powered})
		return
	case !said && !(w.motion > 1 && full):
		return
	}
	l := leg{line: n, rapid: w.motion == 0, burn: w.motion > 0 && w.lit && w.powered}
	from := w.at
	w.at = to
	if to.kx != from.kx || to.ky != from.ky || !to.kx || !to.ky || !from.kz || !to.kz {
		l.way = []at{to}
	} else if w.motion > 1 {
		l.way = w.arc(from, to, val)
	} else {
		l.way = []at{from, to}
	}
	w.legs = append(w.legs, l)
}

// arc gives the chords of an arc.
func (w *walker) arc(from, to at, val map[byte]float64) []at {
	cx, cy := from.x+val['I']*w.unit(), from.y+val['J']*w.unit()
	if w.placed {
		cx, cy = val['I']*w.unit()+w.offset[0], val['J']*w.unit()+w.offset[1]
	}
	if r, is := val['R']; is {
		r *= w.unit()
		dx, dy := to.x-from.x, to.y-from.y
		d := math.Hypot(dx, dy)
		h := math.Sqrt(max(0, r*r-d*d/4))
		if (w.motion == 2) == (r > 0) {
			h = -h
		}
		cx, cy = (from.x+to.x)/2-dy/d*h, (from.y+to.y)/2+dx/d*h
	}
	a0, a1 := math.Atan2(from.y-cy, from.x-cx), math.Atan2(to.y-cy, to.x-cx)
	if w.motion == 3 {
		for a1 <= a0+1e-9 {
			a1 += 2 * math.Pi
		}
	} else {
		for a1 >= a0-1e-9 {
			a1 -= 2 * math.Pi
		}
	}
	r0, r1 := math.Hypot(from.x-cx, from.y-cy), math.Hypot(to.x-cx, to.y-cy)
	n := int(math.Ceil(math.Abs(a1-a0)/0.02)) + 1
	way := []at{from}
	for k := 1; k < n; k++ {
		s := float64(k) / float64(n)
		r, a := r0+s*(r1-r0), a0+s*(a1-a0)
		p := to
		p.x, p.y, p.z = cx+r*math.Cos(a), cy+r*math.Sin(a), from.z+s*(to.z-from.z)
		way = append(way, p)
	}
	return append(way, to)
}
