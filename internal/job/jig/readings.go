package jig

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/recheck"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// touches are the readings of a place, none where it names no file.
type touches struct {
	name    string
	reading *touch.Reading
	points  []surface.Point
}

// touched reads the readings of all places.
func (j *Jig) touched() ([]touches, error) {
	list := make([]touches, len(j.Places))
	for k := range j.Places {
		p := &j.Places[k]
		if p.Readings == "" || p.Skip {
			continue
		}
		name := filepath.Join(filepath.Dir(j.File), p.Readings)
		r, err := job.Read(j.Open, name, func(r io.Reader, name string) (*touch.Reading, error) { return touch.Read(r, name, touch.Options{}) })
		if err != nil {
			return nil, err
		}
		list[k] = touches{name, r, r.Points}
	}
	return list, nil
}

// fewest readings tell how stock lies: three of a plane, and one that bears it out.
const fewest = 4

// fitted is by how much the stock of place k is raised and tilted, as its readings tell.
func (j *Jig) fitted(k int, t *touches, r *surface.Raise) (mm float64, tilt [2]float64, err error) {
	wrong := func(hint, format string, args ...any) (float64, [2]float64, error) {
		return 0, tilt, diag.Errorf(diag.Unmet, hint, "place %d: %s: %s", k+1, t.name, fmt.Sprintf(format, args...))
	}
	if at, _, ok := j.DatumXY(); ok {
		if x, y := j.Placed.Local(at[0], at[1]); x >= r.X0 && x <= r.X1 && y >= r.Y0 && y <= r.Y1 {
			return wrong("say raise_mm and tilt there, or put the datum elsewhere", "the datum is on this stock, so its readings cannot tell how high it stands over the datum")
		}
	}
	p := &j.Places[k]
	var rows, off []float64
	for _, q := range t.points {
		x, y := j.Placed.Local(q.X, q.Y)
		h, where := j.Placed.At(q.X, q.Y)
		if where != surface.On || x < r.X0 || x > r.X1 || y < r.Y0 || y > r.Y1 || math.IsNaN(q.Z) {
			return wrong("give the readings in X and Y of the jig, and stock_mm where the stock goes on further", "%s is not on the stock of this place", phrase.XY(q.X, q.Y))
		}
		rows = append(rows, 1, q.X-p.Shift[0], q.Y-p.Shift[1])
		off = append(off, q.Z-h)
	}
	if len(off) < fewest {
		return wrong("touch more places of it", "%s; fewer than %d do not tell how the stock lies", phrase.Count(len(off), "reading"), fewest)
	}
	var plane mat.VecDense
	if err := plane.SolveVec(mat.NewDense(len(off), 3, rows), mat.NewVecDense(len(off), off)); err != nil {
		return wrong("touch places that do not lie in one line", "they lie in one line, and do not tell how the stock is tilted")
	}
	return plane.AtVec(0), [2]float64{plane.AtVec(1), plane.AtVec(2)}, nil
}

// judge holds the readings of each place to the surface as the stock is taken to lie, by
// what recheck says.
func (j *Jig) judge(list []touches, on *surface.Placed) (notes []string, err error) {
	for k := range list {
		t := &list[k]
		if t.reading == nil {
			continue
		}
		q := job.Question(j.Job, t.name, t.reading)
		q.Surface = on
		a, err := recheck.Judge(q, t.points)
		if err != nil {
			return nil, err
		}
		worst := fmt.Sprintf("%s mm off at worst, at %s, and %s mm are reckoned with", phrase.Signed(a.Worst.OffMM, 3), phrase.XY(a.Worst.At[0], a.Worst.At[1]), phrase.MM(q.Allowed.MM))
		if !a.Holds() {
			var causes []string
			for c := range a.Causes {
				causes = append(causes, a.Causes[c].Text(q, a.Reads))
			}
			return nil, diag.Errorf(diag.Unmet, "correct raise_mm and tilt of the place, or leave them out, so that the readings tell them",
				"place %d: %s: the stock does not lie as it is taken to: %s; %s", k+1, t.name, worst, strings.Join(causes, "; or "))
		}
		notes = append(notes, fmt.Sprintf("place %d: %s of the stock bear it out: %s", k+1, phrase.Count(len(a.Reads), "place"), worst))
	}
	return notes, nil
}
