// Package stock draws the stock as seen from above: its heights by contours with their
// figures, and over them what a program burns, the ways between, and what stands about.
// All is in program XY, in mm; a drawing is an SVG whose colours the page gives.
package stock

import (
	"io"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/stream"
)

// Job is what is drawn of a program, and what is said of it.
type Job struct {
	// Burns is how many there are, BurnMM how long they are over XY, and Box what they lie in.
	Burns  int
	BurnMM float64
	Box    orb.Bound
	// Inches tells that the program is in inches where it first moves; Seconds is how long
	// it takes.
	Inches  bool
	Seconds float64
	// Unknown counts travels from or to a place that the program does not tell.
	Unknown int

	burns, travels lines
}

const (
	// mostPoints bounds what is drawn, some hundred kilobytes: finer than a screen shows.
	mostPoints = 12000
	// finest is how near two points of a line are drawn at first, in mm.
	finest = 0.05
	// arcSteps is in how many pieces a turn is drawn.
	arcSteps = 64
)

// ReadJob reads a program for a bench.
func ReadJob(r io.Reader, name string, m *record.Machine) (*Job, error) {
	j := &Job{Box: orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}}
	j.burns.finest, j.travels.finest = finest, finest
	moved := false
	err := stream.Scan(r, stream.Options{Name: name, Machine: m.Config(nil, 0), Blocks: true}, func(it *stream.Item) {
		v := &it.Move
		if !it.Moves() {
			j.Seconds += v.Seconds
			return
		}
		if !moved {
			moved, j.Inches = true, it.During.Inches
		}
		j.Seconds += v.Seconds
		if v.FromUnknown || v.Lost&(machine.AxisX|machine.AxisY) != 0 {
			if it.Travels() {
				j.Unknown++
			}
			return
		}
		to := &j.travels
		if v.Burn {
			j.Burns++
			j.BurnMM += v.Length
			to = &j.burns
		}
		steps := 1
		if v.Kind == machine.Arc {
			steps = max(2, int(math.Ceil(math.Abs(v.Sweep)/(2*math.Pi)*arcSteps)))
		}
		for k := range steps + 1 {
			at := orb.Point(v.XY(float64(k) / float64(steps)))
			if v.Burn {
				j.Box = j.Box.Extend(at)
			}
			to.add(at, k == 0)
		}
	})
	return j, err
}

// lines are lines that are kept the coarser the more there are of them.
type lines struct {
	all    []orb.LineString
	points int
	finest float64
}

// add adds a point, as the first of a move or as one that goes on.
func (l *lines) add(at orb.Point, first bool) {
	n := len(l.all)
	if first {
		if n > 0 && near(l.all[n-1][len(l.all[n-1])-1], at) < finest/10 {
			return // it goes on from the move before
		}
		l.all = append(l.all, orb.LineString{at})
		l.points++
		return
	}
	line := l.all[n-1]
	if len(line) > 1 && near(line[len(line)-2], at) < l.finest {
		line[len(line)-1] = at
		return
	}
	l.all[n-1] = append(line, at)
	if l.points++; l.points > mostPoints {
		l.coarser()
	}
}

// coarser drops points that are near each other, and stretches that lie where others do.
func (l *lines) coarser() {
	for ; l.points > mostPoints/2; l.finest *= 1.6 {
		was := l.all
		l.all, l.points = nil, 0
		seen := map[[4]int32]bool{}
		keep := func(line orb.LineString) {
			if len(line) > 1 {
				l.all = append(l.all, line)
				l.points += len(line)
			}
		}
		for _, line := range was {
			out := orb.LineString{line[0]}
			for i, at := range line[1:] {
				from := out[len(out)-1]
				if near(from, at) < l.finest && (len(out) > 1 || i < len(line)-2) {
					continue
				}
				if key := l.cells(from, at); seen[key] {
					keep(out)
					out = orb.LineString{at}
				} else {
					seen[key] = true
					out = append(out, at)
				}
			}
			keep(out)
		}
		l.all = append(l.all, orb.LineString{was[len(was)-1][len(was[len(was)-1])-1]}) // where it goes on
		l.points++
	}
}

// cells are those of a lattice in which a stretch begins and ends.
func (l *lines) cells(a, b orb.Point) [4]int32 {
	cell := func(v float64) int32 { return int32(math.Round(v / l.finest)) }
	return [4]int32{cell(a[0]), cell(a[1]), cell(b[0]), cell(b[1])}
}

func near(a, b orb.Point) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }
