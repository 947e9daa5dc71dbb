package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/fit/layout"
	"sagitta/internal/fit/sift"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// LeftOut is a touch that was left out.
type LeftOut = sift.LeftOut

// Measured is a surface made of touches: what was read, and what became of it.
type Measured struct {
	Name    string // of all files
	Reading *touch.Reading
	Parts   []Part // the files, in their order
	Repeats touch.Repeats
	// Points are those that the surface goes through, LeftOut the touches that
	// it does not.
	Points  []surface.Point
	LeftOut []LeftOut
	// Steps are among the points, and Doubts are what a person should look at.
	Steps   []sift.Step
	Doubted []LeftOut // kept all the same
	Doubts  []Doubt
	// Unlooked nodes are too many to look for heights in wrong places; 0 of fewer.
	Unlooked int

	slipped []bool        // points that look written down in wrong places
	rounds  *touch.Rounds // nil where there is one file

	Choice  *Choice
	Written *Written
	Header  surface.Header
	// Alignment is what the pairs of points lead to, and Pairs are those; nil where
	// there are none.
	Alignment *Alignment
	Pairs     []touch.Pair
}

// MeasuredOptions say what is made of touches. Lengths are in mm.
type MeasuredOptions struct {
	// KeepAll leaves no touch out.
	KeepAll bool
	// Method is that of Choose, "" what the file says, or else auto.
	Method string
	// Datum is the point that heights count from and Shift where the surface's
	// origin lies, in program XY; nil leaves them as read. RotateDeg and
	// WrapsYMM of 0 do as well.
	Datum, Shift *[2]float64
	RotateDeg    float64
	WrapsYMM     float64
	// Pairs are points of the surface with where they are in the program.
	Pairs     []touch.Pair
	PairsName string
}

// Measure makes a surface of what was read from the file name: it takes out
// drift, averages places touched again, leaves bad touches out, and chooses the
// form that predicts the heights best. The error names the file.
func Measure(name string, r *touch.Reading, opt MeasuredOptions) (*Measured, error) {
	m := &Measured{Name: name, Reading: r, Pairs: opt.Pairs}
	if len(m.Pairs) > 0 {
		var err error
		if m.Alignment, err = Align(m.Pairs); err != nil {
			return nil, refused(opt.PairsName, err.Error(), "")
		}
	}
	if len(r.Points) == 0 {
		return nil, refused(name, "no height in the file", "")
	}
	if err := m.merge(opt.KeepAll); err != nil {
		return nil, err
	}
	m.slips()
	if !opt.KeepAll {
		if err := m.leaveOut(); err != nil {
			return nil, err
		}
	}
	m.place(&opt)
	if err := m.choose(opt.Method); err != nil {
		return m, err
	}
	m.doubt()
	m.doubtFewRows()
	if asked := cmp.Or(opt.Method, r.Header.Method, "auto"); asked != "auto" {
		m.doubtForm()
	}
	return m, nil
}

// refused is a file that no surface can be made of.
func refused(name, what, hint string) error {
	return &diag.Error{Place: diag.Place{File: name, Line: 1, Col: 1}, What: what, Hint: hint}
}

// merge takes the drift out, has all files count from one zero, and makes a point of each
// place.
func (m *Measured) merge(keepAll bool) error {
	m.part()
	var rounds [][]surface.Point
	rest := m.Reading.Points
	for k := range m.Parts {
		p := &m.Parts[k]
		n := len(p.Points)
		touches, err := m.undrift(p, rest[:n:n], keepAll)
		if err != nil {
			return err
		}
		rounds, rest = append(rounds, touches), rest[n:]
	}
	touches := rounds[0]
	if len(rounds) > 1 {
		touches = m.level(rounds, keepAll)
	}
	m.Points, m.Repeats = touch.Merge(touches)
	for _, p := range m.Repeats.Stray {
		bad := LeftOut{Point: p, WithinMM: sift.LeastMM, Stray: true}
		for _, q := range m.Points {
			if touch.SamePlace(p, q) {
				bad.ExpectedMM, bad.OffMM = q.Z, p.Z-q.Z
			}
		}
		m.LeftOut = append(m.LeftOut, bad)
	}
	return nil
}

// undrift takes the drift of one file out of its touches, and returns those that count.
func (m *Measured) undrift(p *Part, touches []surface.Point, keepAll bool) ([]surface.Point, error) {
	if p.Grid == nil {
		p.Drift = touch.Undrift(touches, p.Header.NoiseMM)
	}
	d := p.Drift
	switch {
	case d == nil:
	case d.Verdict == touch.Drifted:
		touches = touches[:len(touches)-d.Closing]
	case keepAll:
	case d.Verdict == touch.Contradicted:
		touches = slices.DeleteFunc(slices.Clone(touches), func(p surface.Point) bool { return p.Line == d.Wrong.Line })
		m.LeftOut = append(m.LeftOut, LeftOut{Point: d.Wrong, WithinMM: sift.LeastMM, OffMM: d.WrongMM, ExpectedMM: d.Wrong.Z - d.WrongMM})
	case d.Verdict == touch.Open:
		return nil, &diag.Error{Place: diag.Place{File: p.Name, Line: d.Last.Line - p.Before, Col: 1},
			What: fmt.Sprintf("the datum was touched at %.3f mm first (line %d) and at %.3f mm here, and no other touch tells which is right", d.First.Z, d.First.Line-p.Before, d.Last.Z),
			Hint: "touch it twice more and add both lines at the end: where they agree with this one it has drifted, and that is taken out; a wrong line, take out (--keep-all takes both as they are)"}
	}
	return touches, nil
}

// slips doubts heights that look written down in wrong places.
func (m *Measured) slips() {
	m.slipped = make([]bool, len(m.Points))
	slips, unlooked := sift.Slips(m.Points, m.Reading.Grid)
	m.Unlooked = unlooked
	for _, s := range slips {
		d := Doubt{What: s.What, Mend: s.Mend}
		for _, k := range s.Points {
			m.slipped[k] = true
			d.Places = append(d.Places, m.Points[k])
		}
		m.Doubts = append(m.Doubts, d)
	}
}

// leaveOut leaves out the points that do not agree with those around them.
func (m *Measured) leaveOut() error {
	sifted, err := sift.Sift(m.Points, m.slipped)
	if err == nil {
		sifted, err = m.spare(sifted)
	}
	if err != nil {
		hint := "give --keep-all to take them as they are"
		for k := range m.Parts {
			if jump := m.Parts[k].Jump(); jump != "" {
				hint = jump
			}
		}
		return refused(m.Name, err.Error(), hint)
	}
	m.Points, m.Steps, m.Doubted, m.LeftOut = sifted.Good, sifted.Steps, sifted.Doubted, append(m.LeftOut, sifted.Bad...)
	slices.SortStableFunc(m.LeftOut, func(a, b LeftOut) int { return cmp.Compare(a.Line, b.Line) })
	return nil
}

// place settles where the surface lies, and its datum.
func (m *Measured) place(opt *MeasuredOptions) {
	h, r := &m.Header, m.Reading
	h.ErrorMM = r.Header.ErrorMM // what a file says of its heights no fit makes less
	h.NoiseMM = cmp.Or(m.Repeats.NoiseMM, r.Header.NoiseMM)
	h.WrapsYMM = cmp.Or(opt.WrapsYMM, r.Header.WrapsYMM)
	h.Datum = r.Header.Datum
	if h.Datum == nil {
		h.Datum = m.driftDatum()
	}
	// A tenth of a micrometre and a millionth of a degree are finer than places
	// are known.
	round := func(v, step float64) float64 { return math.Round(v*step) / step }
	if x := m.Alignment; x != nil {
		h.Shift = &[2]float64{round(x.Shift[0], 1e4), round(x.Shift[1], 1e4)}
		h.RotateDeg = round(x.Deg, 1e6)
	}
	h.Shift, h.RotateDeg = cmp.Or(opt.Shift, h.Shift), cmp.Or(opt.RotateDeg, h.RotateDeg)
	if d := opt.Datum; d != nil {
		p := h.Placement()
		sin, cos := math.Sincos(p.RotateDeg * math.Pi / 180)
		x, y := d[0]-p.ShiftX, d[1]-p.ShiftY
		h.Datum = &[2]float64{round(cos*x+sin*y, 1e6), round(cos*y-sin*x, 1e6)}
	}
}

// choose fits the surface.
func (m *Measured) choose(method string) error {
	r := m.Reading
	method = cmp.Or(method, r.Header.Method, "auto")
	grid := layout.GridOf(m.Points, touch.SamePlaceMM)
	if r.Grid != nil {
		grid = layout.OnNodes(r.Grid.X(), r.Grid.Y(), m.Points)
	}
	if method == "auto" && slices.Contains(m.slipped, true) {
		// No form of heights in wrong places means anything.
		if method = "smooth"; grid != nil && holdsAll(closed(grid, m.Points), m.Points) {
			method = "bilinear"
		}
	}
	var err error
	if m.Choice, err = Choose(m.Points, grid, method, m.given()); err != nil {
		return refused(m.Name, err.Error(), "")
	}
	m.Choice.allow(m.shiftSureMM())
	if s := m.Repeats.Sinking; s != nil {
		m.Choice.allow(s.MM / 2) // the mean of touches is half way down
	}
	if m.Written, err = m.Choice.Write(m.Points, m.Header); err != nil {
		return refused(m.Name, err.Error(), "")
	}
	if err := m.unsure(); err != nil {
		return refused(m.Name, err.Error(), "")
	}
	// What is written must be what other runs take.
	at := m.Header.Placement()
	at.Raw = true
	if _, err := surface.Place(m.Written.Surface, at); err != nil {
		return refused(m.Name, err.Error(), "")
	}
	if m.Header.Datum != nil {
		_, err = surface.Place(m.Written.Surface, m.Header.Placement())
	}
	return err
}

// given is what is known of the heights besides.
func (m *Measured) given() Given {
	g := Given{TurnMM: m.Header.WrapsYMM, StepMM: m.Reading.ResolutionMM}
	if free := m.Repeats.Touches - m.Repeats.Places; free >= leastRepeats {
		g.NoiseMM, g.NoiseFree = m.Repeats.NoiseMM, float64(free)
	} else if said := m.Reading.Header.NoiseMM; said > 0 {
		g.NoiseMM, g.NoiseFree = said, math.Inf(1)
	}
	return g
}

// leastRepeats tell the noise of a touch.
const leastRepeats = 3

// Range gives the lowest and the highest height of the surface within the hull
// of the points, and where they are, in its own coordinates.
func (m *Measured) Range() (low, high float64, lowAt, highAt [2]float64) {
	h := m.Written.Surface.Header()
	h.WrapsYMM = 0 // one turn tells
	if once, err := m.Written.Surface.WithHeader(h); err == nil {
		if p, err := surface.Place(once, surface.Placement{Raw: true}); err == nil {
			return p.Range()
		}
	}
	return 0, 0, lowAt, highAt
}
