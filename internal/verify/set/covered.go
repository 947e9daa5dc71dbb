package set

import (
	"fmt"

	"sagitta/internal/verify"
)

// covered reports what of the original's burns no zone has, and what is burned twice
// beyond what may overlap at a seam. order are the stretches in the original's order.
func (w *pairing) covered(order []int32) error {
	var end where // up to which all is burned
	by := -1
	for _, i := range order {
		s := w.stretches.at(int(i))
		if err := w.lost(end, s.start, float64(s.tol)); err != nil {
			return err
		}
		if err := w.twice(by, int(i), end); err != nil {
			return err
		}
		if s.end.compare(end) > 0 {
			end, by = s.end, int(i)
		}
	}
	return w.lost(end, where{burn: w.orig.end.burn}, 0)
}

// twice reports what of stretch i comes before end, up to which stretch by has burned,
// beyond what may overlap.
func (w *pairing) twice(by, i int, end where) error {
	s := w.stretches.at(i)
	if s.end.compare(end) < 0 {
		end = s.end
	}
	if s.start.compare(end) >= 0 {
		return nil
	}
	from, err := w.along(s.start)
	if err != nil {
		return err
	}
	f := verify.Violation{Kind: verify.AddedBurn, Line: int(s.line)}
	w.at(&f, s.start.of())
	to, err := w.along(end)
	if err != nil {
		return err
	}
	if f.Amount = to.mm - from.mm; f.Amount > w.set.OverlapMM+float64(s.tol) {
		f.Detail = fmt.Sprintf("%s mm are burned twice", verify.Number(f.Amount))
	} else if to.points > from.points {
		f.Amount, f.Detail = noAmount, "a burn without length is burned twice"
	} else {
		return nil
	}
	zone := s.zone
	if by > i { // which burns it again, somewhere
		zone, f.Line = w.stretches.at(by).zone, 0
	}
	w.res.Zones[zone-1].Fail(f)
	return nil
}

// mostLost is how many burns that are lost are told with their places, which is more
// than is shown; the others are counted.
const mostLost = 100

// lost reports what no zone has between two places.
func (w *pairing) lost(from, to where, tol float64) error {
	if from.compare(to) >= 0 {
		return nil
	}
	c := w.find.at
	for at := from; ; at = (where{burn: at.burn + 1}) {
		switch last := at.burn == to.burn; {
		case last && at.part >= to.part, at.burn == w.orig.end.burn:
			return nil
		case w.res.Whole.FailureCount > mostLost:
			w.res.Whole.FailureCount += int(to.burn - at.burn)
			return nil
		}
		if err := c.burn(at.burn); err != nil {
			return err
		}
		o, end := &c.o, 1.0
		if at.burn == to.burn {
			end = to.of()
		}
		f := verify.Violation{Kind: verify.Missing, Amount: (end - at.of()) * o.M.Length}
		switch {
		case at.part == 0 && end == 1:
			f.Detail = fmt.Sprintf("no zone has this burn of %s mm", verify.Number(o.M.Length))
		case f.Amount <= tol:
			continue
		case end == 1:
			f.Detail = fmt.Sprintf("no zone has the last %s mm of this burn", verify.Number(f.Amount))
		default:
			f.Detail = fmt.Sprintf("no zone has %s mm of this burn", verify.Number(f.Amount))
		}
		w.at(&f, at.of())
		w.res.Whole.Fail(f)
	}
}

// inOrder holds each zone's burns to the original's order, where the list says so.
func (w *pairing) inOrder() error {
	if w.set.Order != InOrder {
		return nil
	}
	c := w.find.at
	for i := 1; i < w.stretches.n; i++ {
		s, last := w.stretches.at(i), w.stretches.at(i-1)
		if s.zone != last.zone || s.start.compare(last.start) >= 0 {
			continue
		}
		if err := c.burn(last.start.burn); err != nil {
			return err
		}
		after := c.o.Line
		if err := c.burn(s.start.burn); err != nil {
			return err
		}
		f := verify.Violation{Kind: verify.OrderDiffers, Line: int(s.line), Amount: noAmount,
			Detail: fmt.Sprintf("burned behind line %d of the original, and the list has the original's order within each zone", after)}
		w.at(&f, s.start.of())
		w.res.Zones[s.zone-1].Fail(f)
	}
	return nil
}

// along is how far along the burns of the original a place is, which the cursor goes to.
func (w *pairing) along(at where) (place, error) {
	c := w.find.at
	if err := c.burn(at.burn); err != nil || !c.there {
		return w.orig.end, err
	}
	p := c.from
	p.mm += at.of() * c.o.M.Length
	return p, nil
}

// at fills in where a place of the burn at the cursor is.
func (w *pairing) at(f *verify.Violation, part float64) {
	o := &w.find.at.o
	at := o.M.XY(part)
	f.OriginalLine, f.X, f.Y = o.Line, at[0], at[1]
}
