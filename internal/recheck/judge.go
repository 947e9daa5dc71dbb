package recheck

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Question is what is asked of readings.
type Question struct {
	// Surface is the stock as it was measured, in program XY, and Datum where its
	// heights count from, nil where from its own zero.
	Surface *surface.Placed
	Datum   *[2]float64
	// ErrorMM is the standard uncertainty of its heights, TouchMM that of a touch: 0 is
	// that of a dial gauge.
	ErrorMM, TouchMM float64
	// Allowed is by how much it may lie otherwise.
	Allowed Allowance
	// Turn is how a person moves the focus, and with it the zero.
	Turn setup.Turn
	// Name is the readings' in messages.
	Name string
}

// Read is a place that was touched.
type Read struct {
	At orb.Point
	// MM is what was read, OffMM that less what the surface says, SureMM the standard
	// uncertainty of that, and AllowedMM what it may be.
	MM, OffMM, SureMM, AllowedMM float64
	// Times is how often it was touched, and ApartMM how far these were apart.
	Times   int
	ApartMM float64
}

// Answer is what readings tell.
type Answer struct {
	holds bool
	// Reads are the places, and Worst the one that is off the most.
	Reads []Read
	Worst Read
	// SureMM is the standard uncertainty of what a place is off by, the greatest of all.
	SureMM float64
	// Again is a place that reads otherwise when it is touched again, nil for none.
	Again *Read
	// Causes are what explains the readings, the likeliest first; the places cannot tell
	// them apart. There are none where nothing shows.
	Causes []Cause
}

// Holds reports whether the surface holds.
func (a *Answer) Holds() bool { return a.holds }

// Cause is an explanation.
type Cause struct {
	Kind Kind
	amounts
	// Sure are the half widths of what holds of its parameters for 95 of 100, in mm: of
	// the zero, of X and Y of a shift, of the turn at the corners, of tilts, of what is
	// pressed down.
	Sure []float64
	// Part is how likely it is among those that are left.
	Part float64
	// WorstMM is by how much the surface is off then, wherever that is most.
	WorstMM float64

	price, score float64
	parameters   int
}

const (
	// fewest places tell something.
	fewest = 3
	// showsAt and explainsAt are the parts of good stock in which readings would be off
	// by more, and of right causes by which they would be explained worse: what is said
	// to be wrong is to be so.
	showsAt, explainsAt = 1e-5, 1e-4
	// oneShows is how many times its uncertainty a single place is off that shows alone.
	oneShows = 4.2
	// eachParameter is what a parameter costs against the sum of squares, and alike how
	// near to the best another explanation is said beside it.
	eachParameter, alike = 5.0, 7.0
	// together in mm is how near to each other touches are of one place.
	together = 0.5
	// moves is how many times the uncertainty of a difference tells that it is one.
	moves = 4
)

// Judge says what readings tell of the surface. The error is a *diag.Error: there are
// too few on it.
func Judge(q *Question, points []surface.Point) (*Answer, error) {
	touchMM := cmp.Or(q.TouchMM, touchMM)
	a := &Answer{}
	a.gather(points, touchMM)
	s := &stock{on: q.Surface, datum: q.Datum}
	at := make([]orb.Point, len(a.Reads))
	for k := range a.Reads {
		at[k] = a.Reads[k].At
	}
	if len(at) < fewest {
		return nil, q.refused("touch more places", "readings of %s; fewer than %d tell nothing", phrase.Count(len(at), "place"), fewest)
	}
	s.frame = frameOf(q.Surface, at)
	squares, off, alone, held := 0.0, 0, false, true
	as := amounts{scale: 1}
	for k := range a.Reads {
		r := &a.Reads[k]
		if _, where := q.Surface.At(r.At[0], r.At[1]); where != surface.On {
			off++
		}
		r.OffMM = r.MM - s.height(&as, k, r.At)
		q.weigh(r, touchMM)
		a.SureMM = max(a.SureMM, r.SureMM)
		squares += r.OffMM * r.OffMM / (r.SureMM * r.SureMM)
		alone = alone || math.Abs(r.OffMM) > max(r.AllowedMM, oneShows*r.SureMM)
		held = held && math.Abs(r.OffMM) <= r.AllowedMM
		if math.Abs(r.OffMM) >= math.Abs(a.Worst.OffMM) {
			a.Worst = *r
		}
	}
	if off > len(at)/2 {
		return nil, q.refused("give --shift and --rotate as they are for the burn, or the readings in the program's places",
			"%d of %s lie off the surface", off, phrase.Count(len(at), "place"))
	}
	if a.inInches(s, at) {
		return a, nil
	}
	still := a.Again == nil || a.Again.ApartMM <= q.Allowed.MM
	if !alone && !beyond(squares, len(at), showsAt) {
		a.holds = still
		return a, nil
	}
	a.explain(s, at)
	a.holds = still && held && !slices.ContainsFunc(a.Causes, func(c Cause) bool { return c.Kind != Other && c.WorstMM > q.Allowed.MM })
	return a, nil
}

// weigh says how sure it is what a place is off by, and how much it may be.
func (q *Question) weigh(r *Read, touchMM float64) {
	errorMM := q.ErrorMM
	if q.Allowed.Less != nil {
		errorMM = q.Surface.ErrorAt(r.At[0], r.At[1])
	}
	r.AllowedMM = q.Allowed.At(q.Surface, r.At[0], r.At[1])
	r.SureMM = math.Hypot(errorMM, touchMM)
}

// refused is that readings cannot be judged.
func (q *Question) refused(hint, format string, args ...any) error {
	return &diag.Error{Kind: diag.Unsupported, Place: diag.Place{File: q.Name, Line: 1, Col: 1}, What: fmt.Sprintf(format, args...), Hint: hint}
}

// gather takes what was read at one place together.
func (a *Answer) gather(points []surface.Point, touchMM float64) {
	for _, p := range points {
		if p.Z != p.Z {
			continue
		}
		k := slices.IndexFunc(a.Reads, func(r Read) bool { return math.Hypot(r.At[0]-p.X, r.At[1]-p.Y) <= together })
		if k < 0 {
			a.Reads = append(a.Reads, Read{At: orb.Point{p.X, p.Y}, MM: p.Z, Times: 1})
			continue
		}
		r := &a.Reads[k]
		r.ApartMM = max(r.ApartMM, math.Abs(p.Z-r.MM))
		r.MM += (p.Z - r.MM) / float64(r.Times+1)
		r.Times++
	}
	for k := range a.Reads {
		if r := &a.Reads[k]; r.ApartMM > moves*math.Sqrt2*touchMM {
			a.Again = r
		}
	}
}

// beyond reports whether a sum of so many squares of what scatters by 1 is greater than
// it is by chance in a part of cases.
func beyond(squares float64, free int, part float64) bool {
	return free > 0 && squares > distuv.ChiSquared{K: float64(free)}.Quantile(1-part)
}
