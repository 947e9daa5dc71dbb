package report

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
)

// Job is what pictures of a job are drawn of. Places are in program XY, lengths in mm.
type Job struct {
	// Title is the picture's, and Verdict a sentence below it.
	Title, Verdict string
	Placed         *surface.Placed
	// Touched are the places that were measured, in the surface's own coordinates, where that
	// is worth showing.
	Touched []surface.Point
	Boxes   []surface.Box
	// Datum is where heights count from, nil where that is the surface's zero, and Focus
	// where the focus is set, nil where that is not at a place.
	Datum, Focus *[2]float64
	Trace        *trace.Trace
	// ZSpeed is the greatest speed of Z of the bench, and ZStep the greatest step of it that it
	// takes at once, in mm/s; 0 where that is not known.
	ZSpeed, ZStep float64
	// Lost is over how many mm of BurnedMM burns go more than so many tenths slower than in
	// the original, from more than one tenth on, for what the axes can do; nil where that is
	// not known.
	Lost     []float64
	BurnedMM float64
}

// Above draws the job from above, over the heights of its surface.
func (j *Job) Above(by By, width Width) (*Picture, error) {
	m, err := j.mapOf(by, width)
	if err != nil {
		return nil, err
	}
	return m.Picture()
}

// mapOf is the map of the job.
func (j *Job) mapOf(by By, width Width) (*Map, error) {
	m := &Map{
		Title: [...]string{"How much of the depth is spent", "What each program burns", "How far the focus is moved"}[by] + ", from above",
		Width: width,
		At: func(x, y float64) (float64, bool) {
			h, where := j.Placed.At(x, y)
			return h, where == surface.On
		},
		Datum: j.Datum,
		Over:  &Over{By: by, Trace: j.Trace, Boxes: j.Boxes, Focus: j.Focus, Repeats: j.Placed.Surface().Header().WrapsYMM > 0},
	}
	for _, p := range j.Touched {
		x, y := j.Placed.Program(p.X, p.Y)
		m.Over.Measured = append(m.Over.Measured, orb.Point{x, y})
	}
	m.Over.Stock = j.stock()
	m.Low, m.Top, m.Over.Beyond = j.area(m.Over.Stock)
	return m, nil
}

// stock is the outline of what was measured: where that repeats, of one turn.
func (j *Job) stock() (outline orb.LineString) {
	s := j.Placed.Surface()
	x, y := s.X(), s.Y()
	y0, y1 := y[0], y[len(y)-1]
	if turn := s.Header().WrapsYMM; turn > 0 {
		// It is laid out to as many turns before its own as after it.
		y0 += math.Round(((y1-y0)/turn-1)/2) * turn
		y1 = y0 + turn
	}
	for _, q := range [...][2]float64{{x[0], y0}, {x[len(x)-1], y0}, {x[len(x)-1], y1}, {x[0], y1}, {x[0], y0}} {
		px, py := j.Placed.Program(q[0], q[1])
		outline = append(outline, orb.Point{px, py})
	}
	return outline
}

const (
	// smallJob is the part of a surface that a job is shown within by itself where it is
	// smaller, with so much of itself around it.
	smallJob, aroundJob = 0.3, 0.5
	// aroundBox is by how much more is shown for boxes.
	aroundBox = 0.15
	// leastArea in mm is what is shown of a job without size.
	leastArea = 1.0
)

// area is what is shown: all of surface and burns, or what is around the burns where they
// are small. beyond says so.
func (j *Job) area(stock orb.LineString) (low, top [2]float64, beyond string) {
	all := stock.Bound()
	burns := j.Trace.Bounds
	if !usable(burns) {
		return all.Min, all.Max, ""
	}
	longest := func(b orb.Bound) float64 { return max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) }
	size := max(longest(burns), leastArea)
	if size >= smallJob*longest(all) {
		shown := all.Union(burns)
		for _, b := range j.Boxes {
			// What is clamped at the edge is shown as a whole.
			if of := (orb.Bound{Min: orb.Point{b.X0, b.Y0}, Max: orb.Point{b.X1, b.Y1}}); longest(shown.Union(of)) <= (1+aroundBox)*longest(all.Union(burns)) {
				shown = shown.Union(of)
			}
		}
		return shown.Min, shown.Max, ""
	}
	middle := burns.Center()
	half := size * (0.5 + aroundJob)
	shown := orb.Bound{Min: orb.Point{middle[0] - half, middle[1] - half}, Max: orb.Point{middle[0] + half, middle[1] + half}}
	span := func(k int) string {
		return phrase.Trimmed(all.Min[k], 1) + " to " + phrase.Trimmed(all.Max[k], 1)
	}
	return shown.Min, shown.Max, fmt.Sprintf("shown is what is around the job: heights are known from X%s, Y%s mm", span(0), span(1))
}

// usable reports whether bounds are of something.
func usable(b orb.Bound) bool {
	return finite(b.Min[0]) && finite(b.Min[1]) && finite(b.Max[0]) && finite(b.Max[1]) && b.Min[0] <= b.Max[0] && b.Min[1] <= b.Max[1] &&
		math.Abs(b.Max[0]) <= surface.MaxCoordMM && math.Abs(b.Min[0]) <= surface.MaxCoordMM &&
		math.Abs(b.Max[1]) <= surface.MaxCoordMM && math.Abs(b.Min[1]) <= surface.MaxCoordMM
}
