package machine

import (
	"math"

	"sagitta/internal/program"
)

// isBend tells a line that has both words of an end and both of a centre, and is no
// straight move.
func isBend(l *program.PlainLine) bool {
	const others = program.PlainG2 | program.PlainG3 | program.PlainF | program.PlainS
	return l.Has&^others == program.PlainX|program.PlainY|plainCentre
}

// bend is an arc: its end and its centre in units of a coord, and its end seen
// from the centre in mm.
type bend struct {
	x, y, cx, cy int64
	x1, y1       float64
}

// bendsAtOnce is how many arcs are taken together. An arc is a long chain of
// arithmetic, each step of which waits for the last one: in short loops over
// several arcs a processor has other chains to go on with.
const bendsAtOnce = 16

// bends takes the lines from k on that isBend tells: what programs of arcs are
// made of. It returns the first that is another, or that line must look at.
func (r *plainRun) bends(lines []program.PlainLine, moves []PlainMove, k int) int {
	// The place of the one is where the next begins.
	var places [1 + bendsAtOnce]bend
	for {
		n := min(len(lines)-k, len(r.arcs), bendsAtOnce)
		some, arcs := moves[k:k+n], r.arcs[:n]
		n = r.bendPlaces(lines[k:k+n], some, &places)
		n = bendRadii(places[:n+1], some[:n], arcs[:n], r.ip.radiiDiffer())
		if n == 0 {
			return k
		}
		for i := range arcs[:n] {
			arcs[i].Mark = int32(k + i)
		}
		r.d = bendLengths(places[:n+1], some[:n], arcs[:n], r.d)
		last := &some[n-1]
		r.at, r.mm = [2]int64{places[n].x, places[n].y}, [2]float64{last.X, last.Y}
		r.motion, r.arcs = last.Motion, r.arcs[n:]
		for end := k + n; k < end; k++ {
			if l := &lines[k]; l.Has&program.PlainS != 0 {
				r.power, r.dark = k, l.S == 0
			}
		}
	}
}

// bendPlaces fills the places of the lines, and what moves have from the words
// alone. It returns how many lines it has taken.
func (r *plainRun) bendPlaces(lines []program.PlainLine, moves []PlainMove, places *[1 + bendsAtOnce]bend) int {
	s, relative, motion, lit, dark, shift := r.s, r.ip.st.Relative, r.motion, r.lit, r.dark, r.shift
	x, y, fromX, fromY := r.at[0], r.at[1], r.from(0), r.from(1)
	places[0] = bend{x: x, y: y}
	moves = moves[:len(lines)]
	for k := range lines {
		l, m, b := &lines[k], &moves[k], &places[k+1]
		if !isBend(l) || r.newFeed(l) {
			return k
		}
		// Of the words of such a line these are the highest.
		if word := int8(l.Has / program.PlainG2); word != 0 {
			motion = word + 1
		}
		i, okI := s.units(int64(l.I), l.DecI)
		j, okJ := s.units(int64(l.J), l.DecJ)
		if motion == 1 || !okI || !okJ {
			return k
		}
		b.cx, b.cy = x+i, y+j // beyond maxUnits it is the same place in mm
		toX, okX := s.units(int64(l.X), l.DecX)
		toY, okY := s.units(int64(l.Y), l.DecY)
		x, y = toX+fromX, toY+fromY
		b.x, b.y = x, y
		if !okX || !okY || max(x, y) > maxUnits || min(x, y) < -maxUnits {
			return k
		}
		if relative {
			fromX, fromY = x, y
		}
		if l.Has&program.PlainS != 0 {
			dark = l.S == 0
		}
		m.End, m.Axis, m.Style, m.Burn, m.Motion = l.End+shift, l.Axis, l.Style, lit && !dark, motion
	}
	return len(lines)
}

// bendRadii fills what follows from the places, but for the angles. It returns how
// many arcs come before the first that is none.
func bendRadii(places []bend, moves []PlainMove, arcs []Turn, differ float64) int {
	for k := range arcs {
		m, a, from, b := &moves[k], &arcs[k], &places[k], &places[k+1]
		m.X, m.Y = nearestMM(b.x), nearestMM(b.y)
		a.CX, a.CY = nearestMM(b.cx), nearestMM(b.cy)
		a.X0, a.Y0 = -nearestMM(b.cx-from.x), -nearestMM(b.cy-from.y)
		b.x1, b.y1 = nearestMM(b.x-b.cx), nearestMM(b.y-b.cy)
		a.R0, a.R1 = radius(a.X0, a.Y0), radius(b.x1, b.y1)
		if a.R0 == 0 || a.R1 == 0 || math.Abs(a.R1-a.R0) > differ {
			return k
		}
	}
	return len(arcs)
}

// bendLengths fills the angles, and how far along the path the moves end, where
// they begin at d. It returns where the last one ends.
func bendLengths(places []bend, moves []PlainMove, arcs []Turn, d float64) float64 {
	for k := range arcs {
		m, a, b := &moves[k], &arcs[k], &places[k+1]
		a.Sweep = sweep(m.Motion, a.X0, a.Y0, b.x1, b.y1)
		d += a.Length()
		m.D = d
	}
	return d
}
