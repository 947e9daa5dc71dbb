package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Part is a file of touches, and what its touches of the datum and of places of other
// files say.
type Part struct {
	touch.Part
	Drift *touch.Drift // nil where there is none
	Zero  *touch.Zero  // nil for the first file
}

// Drifted reports whether drift was taken out.
func (p *Part) Drifted() bool { return p.Drift != nil && p.Drift.Verdict == touch.Drifted }

// Moved reports whether heights were moved to another zero.
func (p *Part) Moved() bool {
	return p.Zero != nil && (p.Zero.Verdict == touch.ByDatum || p.Zero.Verdict == touch.ByPlaces)
}

// Jump says where heights look as if they went over into another unit; "" where they do
// not.
func (p *Part) Jump() string { return touch.MixedUnits(p.Points) }

// part knows the files.
func (m *Measured) part() {
	if m.Reading.Parts == nil {
		m.Parts = []Part{{Part: touch.Part{Name: m.Name, Reading: m.Reading}}}
		return
	}
	m.Parts = nil
	for _, p := range m.Reading.Parts {
		m.Parts = append(m.Parts, Part{Part: p})
	}
}

// PartOf is the file that a touch is from.
func (m *Measured) PartOf(p surface.Point) *Part {
	k := len(m.Parts) - 1
	for k > 0 && p.Line <= m.Parts[k].Before {
		k--
	}
	return &m.Parts[k]
}

// From says where a touch is from, its line with the name of its file: "touches.log:7".
func (m *Measured) From(p surface.Point) string {
	part := m.PartOf(p)
	return fmt.Sprintf("%s:%d", part.Name, p.Line-part.Before)
}

// PlaceOf says where a touch is from where there may be one file only, which needs no
// name then: "line 7", or "touches.log:7".
func (m *Measured) PlaceOf(p surface.Point) string {
	return m.placeOf(p, func(name string) string { return name })
}

func (m *Measured) placeOf(p surface.Point, short func(string) string) string {
	part := m.PartOf(p)
	if len(m.Parts) == 1 {
		return fmt.Sprintf("line %d", p.Line)
	}
	return fmt.Sprintf("%s:%d", phrase.Printable(short(part.Name)), p.Line-part.Before)
}

// driftDatum is the place that a file begins and ends at, nil where none does.
func (m *Measured) driftDatum() *[2]float64 {
	for k := range m.Parts {
		if d := m.Parts[k].Drift; d != nil {
			return &d.At
		}
	}
	return nil
}

// shiftSureMM is how far it is known by how much touches of a file were shifted: half way
// a drift is known to a half.
func (m *Measured) shiftSureMM() (sure float64) {
	for k := range m.Parts {
		p, mm := &m.Parts[k], 0.0
		if p.Drifted() {
			mm = p.Drift.SureMM / 2
		}
		if p.Moved() {
			mm = math.Hypot(mm, p.Zero.SureMM)
		}
		sure = max(sure, mm)
	}
	return sure
}

// level has all files count from one zero, and leaves out touches of places that two
// files differ about, where those around tell which of them is off.
func (m *Measured) level(rounds [][]surface.Point, keepAll bool) []surface.Point {
	r := m.Reading
	var datum *surface.Point
	if d := r.Header.Datum; d != nil {
		datum = &surface.Point{X: d[0], Y: d[1]}
	} else if d := m.driftDatum(); d != nil {
		datum = &surface.Point{X: d[0], Y: d[1]}
	}
	m.rounds = touch.Level(rounds, datum, r.Header.NoiseMM, r.ResolutionMM)
	for k := range m.rounds.Zeros {
		m.Parts[k+1].Zero = &m.rounds.Zeros[k]
	}
	all := slices.Concat(rounds...)
	if !keepAll {
		all = m.settle(all)
	}
	return all
}

// clearPart of how far one of two touches is off what those around lead to is what the
// other may be off for them to tell which is right.
const clearPart = 1. / 3

// settle leaves out, of places that two files differ about, the touches that those around
// contradict where they bear out the others. What they do not tell stays disputed.
func (m *Measured) settle(touches []surface.Point) []surface.Point {
	disputed := m.rounds.Disputed
	m.rounds.Disputed = nil
	out := map[surface.Point]bool{}
	for k := range m.Parts {
		p := &m.Parts[k]
		var of []touch.Dispute
		for _, d := range disputed {
			if m.PartOf(d.Later[0]) == p {
				of = append(of, d)
			}
		}
		judges := touches
		switch z := p.Zero; {
		case len(of) == 0:
			continue
		case len(z.Against) > 0:
			// All of its touches may be off.
			m.rounds.Disputed = append(m.rounds.Disputed, of...)
			continue
		case z.Verdict == touch.Unclear:
			// It may count from another zero, and its own touches bear that out.
			judges = slices.DeleteFunc(slices.Clone(touches), func(q surface.Point) bool { return q.Line > p.Before })
		}
		for _, b := range m.judge(of, judges) {
			out[b.Point] = true
			m.LeftOut = append(m.LeftOut, b)
		}
	}
	return slices.DeleteFunc(touches, func(p surface.Point) bool { return out[p] })
}

// judge has touches that are not disputed tell which of those that are they contradict.
func (m *Measured) judge(disputed []touch.Dispute, touches []surface.Point) (out []LeftOut) {
	points, _ := touch.Merge(touches)
	at, gone := make([]int, len(disputed)), make([]bool, len(points))
	for k, d := range disputed {
		at[k] = slices.IndexFunc(points, func(p surface.Point) bool { return touch.SamePlace(p, d.Earlier[0]) })
		if at[k] >= 0 { // else it went into a place beside it
			gone[at[k]] = true
		}
	}
	foretell := sift.Foretell(points, gone)
	for k, d := range disputed {
		z, ok := 0., false
		if at[k] >= 0 {
			z, ok = foretell(at[k])
		}
		earlier, later := math.Abs(d.EarlierMM-z), math.Abs(d.LaterMM-z)
		wrong, right := d.Earlier, d.LaterMM
		if later > earlier {
			wrong, right = d.Later, d.EarlierMM
		}
		if !ok || max(earlier, later) <= sift.LeastMM || min(earlier, later) > clearPart*max(earlier, later) {
			m.rounds.Disputed = append(m.rounds.Disputed, d)
			continue
		}
		for _, p := range wrong {
			out = append(out, LeftOut{Point: p, WithinMM: sift.LeastMM, OffMM: p.Z - right, ExpectedMM: right, Stray: true, Again: true})
		}
	}
	return out
}

// foundAlike reports whether a touch that is off was found so again, later in its file or
// in another one: that is no slip.
func (m *Measured) foundAlike(b LeftOut) bool {
	if m.rounds != nil && slices.ContainsFunc(m.rounds.Agreed, func(p surface.Point) bool { return touch.SamePlace(p, b.Point) }) {
		return true
	}
	// Touched twice in direct succession it may be twice the same chip under the probe.
	last := -1
	for k, p := range m.Reading.Points {
		if !touch.SamePlace(p, b.Point) || math.Abs(p.Z-b.Z) > sift.LeastMM {
			continue
		}
		if last >= 0 && k > last+1 {
			return true
		}
		last = k
	}
	return false
}

// spare takes back what was left out for being off alone and was found so again.
func (m *Measured) spare(s *sift.Sifted) (*sift.Sifted, error) {
	alike, _ := layout.Part(s.Bad, func(k int) bool { return m.foundAlike(s.Bad[k]) })
	if len(alike) == 0 {
		return s, nil
	}
	spared := make([]bool, len(m.Points))
	for k, p := range m.Points {
		spared[k] = m.slipped != nil && m.slipped[k] || slices.ContainsFunc(alike, func(b LeftOut) bool { return b.Point == p })
	}
	again, err := sift.Sift(m.Points, spared)
	if err == nil {
		again.Doubted = append(again.Doubted, alike...)
	}
	return again, err
}

// doubtRounds names what files of one surface differ about.
func (m *Measured) doubtRounds() {
	if m.rounds == nil {
		return
	}
	for k := range m.Parts {
		p := &m.Parts[k]
		if p.Zero == nil {
			continue
		}
		name := phrase.Printable(p.Name)
		z := p.Zero
		switch {
		case z.Verdict == touch.Unclear && m.zeroOpen(p):
			m.Doubts = append(m.Doubts, Doubt{
				What: fmt.Sprintf("%s is %s mm off at %s, which was touched before: a slip, or another zero; it is taken to count from the same zero",
					name, phrase.Signed(z.MM, 3), phrase.XY(z.At[0], z.At[1])),
				Mend:   "begin and end each file with a touch of the datum",
				Places: []surface.Point{{X: z.At[0], Y: z.At[1]}},
			})
		case len(z.Against) > 0:
			m.Doubts = append(m.Doubts, Doubt{
				What: fmt.Sprintf("by the datum at %s, %s is %s mm off at %s that were touched before, which agree on it: a touch of the datum may be a slip, or the surface moved between",
					phrase.XY(z.At[0], z.At[1]), name, phrase.Signed(z.AgainstMM, 3), phrase.Count(len(z.Against), "place")),
				Mend:   "touch the datum and those places again",
				Places: append([]surface.Point{{X: z.At[0], Y: z.At[1]}}, z.Against...),
			})
		}
	}
	m.doubtDisputed()
}

// zeroOpen reports whether the zero of a file, which no place settles, is doubted: not
// where it was the touches before that were off.
func (m *Measured) zeroOpen(p *Part) bool {
	of := func(q surface.Point) bool { return m.PartOf(q) == p }
	return slices.ContainsFunc(m.rounds.Disputed, func(d touch.Dispute) bool { return of(d.Later[0]) }) ||
		slices.ContainsFunc(m.LeftOut, func(b LeftOut) bool { return b.Again && of(b.Point) })
}

// doubtDisputed names the places that two files differ about.
func (m *Measured) doubtDisputed() {
	disputed := m.rounds.Disputed
	if len(disputed) == 0 {
		return
	}
	slices.SortStableFunc(disputed, func(a, b touch.Dispute) int {
		return cmp.Compare(math.Abs(b.OffMM()), math.Abs(a.OffMM()))
	})
	var places []surface.Point
	for _, d := range disputed {
		places = append(places, d.Earlier[0], d.Later[0])
	}
	d := disputed[0]
	m.Doubts = append(m.Doubts, Doubt{
		What: fmt.Sprintf("files differ by more than touches scatter at %s, by up to %s mm at %s (%s over %s); the mean is taken, as nothing tells which is right",
			phrase.Count(len(disputed), "place"), phrase.Signed(d.OffMM(), 3), phrase.XY(d.Earlier[0].X, d.Earlier[0].Y), m.From(d.Later[0]), m.From(d.Earlier[0])),
		Mend:   "touch there again",
		Places: places,
	})
}
