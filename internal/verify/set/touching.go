package set

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set/touch"
)

// touching holds burns that touch to the original's order, over all zones. order are the
// stretches in the original's order.
func (w *pairing) touching(order []int32) error {
	if w.set.Order == InOrder || slices.IsSorted(order) {
		return nil
	}
	t := &touching{pairing: w, order: order, moved: movedOf(order)}
	windows := w.orig.windows(w.stretches.n)
	t.work = touch.MostWork
	for reads := 0; len(windows) > 0; reads++ {
		if reads == mostReads {
			w.notChecked("there are too many lines")
			return nil
		}
		in := windows[0]
		windows = windows[1:]
		err := t.look(in)
		if mid := (in[0] + in[1]) / 2; errors.Is(err, touch.ErrMany) && in[1]-in[0] > leastWindow {
			windows = append([][2]float64{{in[0], mid}, {mid, in[1]}}, windows...)
			continue
		}
		if errors.Is(err, touch.ErrMany) || errors.Is(err, touch.ErrFar) {
			w.notChecked(err.Error())
			err = nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *pairing) notChecked(why string) {
	w.res.Whole.Note("not checked: whether burns that touch keep the original's order everywhere: %s", why)
}

const (
	// mostPoints is how many points of lines are kept at once.
	mostPoints = 1 << 20
	// mostReads is how often the original is read for them at most.
	mostReads = 24
	// leastWindow is how many mm a window is high at least.
	leastWindow = 0.1
)

// movedOf tells of each stretch whether it comes before or behind another otherwise than
// in the original.
func movedOf(order []int32) []bool {
	moved := make([]bool, len(order))
	most := int32(-1)
	for k, rank := range order {
		moved[k] = rank < most
		most = max(most, rank)
	}
	least := int32(math.MaxInt32)
	for k := range slices.Backward(order) {
		moved[k] = moved[k] || order[k] > least
		least = min(least, order[k])
	}
	return moved
}

// windows are stretches along Y, from and to, of which each has so many lines that they
// can be kept; they are cut into so many stretches.
func (g *original) windows(stretches int) [][2]float64 {
	type weight struct {
		y float64
		n int
	}
	var all []weight
	before, sum := 0, 0
	for i := range g.sections {
		s := &g.sections[i]
		all = append(all, weight{(s.box.y0 + s.box.y1) / 2, s.points - before})
		before = s.points
	}
	slices.SortFunc(all, func(a, b weight) int { return int(math.Copysign(1, a.y-b.y)) })
	from, list := math.Inf(-1), [][2]float64(nil)
	// Each cut makes a line or an arc more.
	most := mostPoints / 4 * 3
	if total := g.points + touch.ArcPoints*stretches; total > most {
		most = most / 4 * 3 * g.points / total
	} else {
		most = g.points
	}
	for i, a := range all {
		if sum += a.n; sum > most && i+1 < len(all) && a.y > from {
			list = append(list, [2]float64{from, a.y})
			from, sum = a.y, 0
		}
	}
	return append(list, [2]float64{from, math.Inf(1)})
}

// fail reports two stretches that touch and are burned the other way round than in the
// original.
func (t *touching) fail(p touch.Pair) error {
	first, second := t.stretch(int32(p.First)), t.stretch(int32(p.Second))
	before, err := t.lineAt(first, p)
	if err != nil {
		return err
	}
	line, err := t.lineAt(second, p)
	if err != nil {
		return err
	}
	f := verify.Violation{Kind: verify.OrderDiffers, OriginalLine: line, X: p.X, Y: p.Y, Amount: noAmount,
		Detail: fmt.Sprintf("it touches line %d of the original, which comes before it there", before)}
	switch a, b := t.set.Zones[first.zone-1].Program, t.set.Zones[second.zone-1].Program; {
	case a == b:
		f.Detail += " and behind it here"
	default:
		f.Detail += fmt.Sprintf(" and is burned behind it here, by %s", a)
	}
	t.res.Zones[second.zone-1].Fail(f)
	return nil
}

// lineAt is the line of the original by which a stretch comes to a place.
func (t *touching) lineAt(s *stretch, p touch.Pair) (line int, err error) {
	c := t.find.at
	if err := c.burn(s.start.burn); err != nil {
		return 0, err
	}
	line = c.o.Line
	best := math.Inf(1)
	for c.there && c.from.burn <= s.end.burn && best > touch.Near {
		if off := offFrom(&c.o.M, p.X, p.Y); off < best {
			best, line = off, c.o.Line
		}
		if err := c.next(); err != nil {
			return 0, err
		}
	}
	return line, nil
}

// offFrom is about how far a place is off a burn.
func offFrom(m *machine.Move, x, y float64) float64 {
	at, s := machine.Point{X: x, Y: y}, 0.0
	const middle = 0.5
	if m.Length > 0 {
		s = min(max(verify.Fraction(m, at, middle), 0), 1)
	}
	near := m.XY(s)
	return math.Hypot(near[0]-x, near[1]-y)
}
