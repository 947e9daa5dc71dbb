package job

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Turn is how a person moves the focus at a bench.
func Turn(m *record.Machine) setup.Turn {
	t := setup.Turn{TableMoves: m.TableMoves, DivisionMM: record.Known(m.ZStepMM), PlusAway: m.ZPlus == record.Away, Inches: m.Inches(),
		Backlash: record.Known(m.ZBacklashMM), Pointer: m.PointerOffsetMM, Touched: m.ProbeOffsetMM != [3]float64{}}
	if m.ZMoves != record.ZByHand {
		t.Axis = m.ZAxis[0]
	}
	return t
}

// Setting is what the statement of where the focus is set says of the lens.
func (l *Lens) Setting() setup.Lens {
	if l.Record == nil {
		return setup.Lens{}
	}
	return setup.Lens{Name: l.Name, Shift: l.Record.FocusShift(), Height: l.Record.FocusHeightMM}
}

// Setup is a job with one of its lenses, by its number, as the operator sets it up.
type Setup struct {
	*Job
	Lens int
	// Marks are what the program burns, where it was read before, and Low is the lowest
	// stock under it: the focus is then set clear of them.
	Marks *setup.Marks
	Low   float64
}

// Setting is where and how the focus is set for a program that writes its heights into
// Z, or where Z is moved by hand runs at one focus. first is where the first burn begins,
// nil where that is not known.
func (j Setup) Setting(first *machine.Point) setup.Setting {
	height, byHand := 0.0, j.Machine.ZMoves == record.ZByHand
	if byHand {
		height = j.defocus()
	}
	s := j.SettingAt(height, nil, first)
	s.InZ = !byHand
	return s
}

// SettingAt is that for a program that runs as it is, with best focus at a height in mm
// over the datum, the wanted defocus included: on the stock at a place, nil for one that
// is to be found.
func (j Setup) SettingAt(height float64, at *setup.FocusPoint, first *machine.Point) setup.Setting {
	s := setup.Setting{Turn: Turn(j.Machine), Height: height, Point: at, Round: j.Placed.Surface().Header().WrapsYMM, Defocus: j.defocus()}
	if j.Lens < len(j.Lenses) {
		s.Lens = j.Lenses[j.Lens].Setting()
	}
	if xy, _, ok := j.DatumXY(); ok {
		s.Datum = &xy
	}
	if first != nil {
		s.Z = &first.Z
	}
	if at == nil && (s.Datum == nil || math.Abs(height) > setup.PointTolerance || !j.settable(*s.Datum)) {
		found := j.focusPoint(height, first)
		s.Point = &found
	}
	return s
}

// defocus is the wanted one.
func (j Setup) defocus() float64 {
	if j.Lens < len(j.Lenses) {
		return j.Lenses[j.Lens].Defocus
	}
	return j.Defocus
}

// settable reports whether a gauge gets to the stock at a place.
func (j Setup) settable(at [2]float64) bool {
	_, where := j.Placed.At(at[0], at[1])
	foot := j.Machine.GaugeFootMM / 2
	for _, b := range j.Boxes {
		if at[0] > b.X0-foot && at[0] < b.X1+foot && at[1] > b.Y0-foot && at[1] < b.Y1+foot {
			return false
		}
	}
	axes := reach(j.Machine)
	return where == surface.On && axes.Beyond(at[0], at[1]) == 0
}

// reach is how far the axes go.
func reach(m *record.Machine) machine.Reach {
	return machine.Reach{X: (*[2]float64)(m.XMM), Y: (*[2]float64)(m.YMM)}
}

// focusPoint is a place on the stock to set the focus at, at a height over the datum:
// clear of what the program burns or, where that is not known yet, next to where the first
// burn begins.
func (j Setup) focusPoint(height float64, first *machine.Point) setup.FocusPoint {
	if j.Marks != nil {
		return j.place(height, first)
	}
	of := focusOf{lens: j.Lens, height: height}
	if first != nil {
		of.first, of.known = *first, true
	}
	found, is := j.found[of]
	if !is {
		found = j.place(height, first)
		if j.found == nil {
			j.Job.found = map[focusOf]setup.FocusPoint{}
		}
		j.found[of] = found
	}
	return found
}

// focusOf is what a place to set the focus at depends on within a job that was not read
// before: every message and sheet of a run asks for it.
type focusOf struct {
	lens   int
	height float64
	first  machine.Point
	known  bool
}

// place finds that place.
func (j Setup) place(height float64, first *machine.Point) setup.FocusPoint {
	m, low := j.Marks, j.Low
	if m == nil {
		m, low = j.Mesh.Marks(), height
	}
	m.Foot, m.Reach = j.Machine.GaugeFootMM, reach(j.Machine)
	var h *bench.Head
	if j.Lens < len(j.Lenses) {
		h = j.HeadOf(&j.Lenses[j.Lens])
	}
	for _, b := range j.Boxes {
		beside := 0.0
		if h != nil {
			beside = h.Beside(b.Height - low)
		}
		m.Box(b, beside)
	}
	if h != nil {
		model := clearance.New(j.Placed, h, clearance.Slack{Tolerance: pieceTolerance})
		m.Over = func(x, y, height float64) float64 {
			return max(0, model.Highest(&machine.Move{To: machine.Point{X: x, Y: y}})-height-h.Standoff)
		}
	}
	if j.Marks != nil {
		return m.At(height)
	}
	if first != nil {
		m.In(0)
		m.Line(first.X, first.Y, first.X, first.Y)
		m.In(-1)
	}
	return m.Place(height, 0, nil)
}
