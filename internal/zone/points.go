package zone

import (
	"cmp"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// mark marks the part of a burn, or a run of them, from fraction s0 to s1 among what a
// zone burns.
func mark(p *Plan, zone int, it *stream.Item, s0, s1 float64) {
	p.marked.In(zone)
	if it.IsRun() {
		for a, b := range it.Ends() {
			p.marked.Line(a.X, a.Y, b.X, b.Y)
		}
	} else {
		p.marked.Part(&it.Move, s0, s1)
	}
	p.marked.In(-1)
}

// setByHeight finds where the focus of each zone is set as long as it is not known what
// burns where: it takes for a zone's what has the heights that it serves.
func setByHeight(p *Plan, fails *failures) {
	p.marked.Forget()
	of := make([]int, len(p.Zones))
	for i := range p.Zones {
		z := &p.Zones[i]
		p.marked.InBand(i, z.Band.Lo, z.Band.Hi)
		of[i] = i
	}
	setPoints(p, of, fails)
}

// setPoints finds where the focus of each zone is set, and notes where there is no such
// place. of are the layers of the marks in which the burns of each are; what zones
// burn that come before it by their Order is burned by then.
func setPoints(p *Plan, of []int, fails *failures) {
	inOrder := make([]int, len(p.Zones))
	for i := range inOrder {
		inOrder[i] = i
	}
	slices.SortStableFunc(inOrder, func(a, b int) int { return cmp.Compare(p.Zones[a].Order, p.Zones[b].Order) })
	var before []int
	p.marked.Reach, p.marked.Foot = p.opt.Reach, p.opt.GaugeFoot
	for _, i := range inOrder {
		z := &p.Zones[i]
		p.marked.Over = over(p, p.opt.Lenses[z.Lens].Standoff)
		z.Point = p.marked.Place(z.Focus, of[i], before)
		before = append(before, of[i])
		if by := p.opt.Reach.Beyond(z.Point.X, z.Point.Y); by > 0 {
			fails.add(0, "there is no place to set the focus of zone %d within the reach of the axes (x_mm, y_mm): X%.3f Y%.3f is %.3f mm beyond it", z.Order, z.Point.X, z.Point.Y, by)
		}
		if p.opt.SetZ && !p.opt.Pause || p.marked.Over == nil {
			continue
		}
		if by := p.marked.Over(z.Point.X, z.Point.Y, z.Focus); by > p.opt.Rounding()+rounding {
			fails.add(0, "there is no place to set the focus of zone %d where the head is clear: at X%.3f Y%.3f its tip would be too close to what stands about it by %.3f mm",
				z.Order, z.Point.X, z.Point.Y, by)
		}
	}
}

// over tells by how many mm the head stands too low at a place, with the focus set
// at a height; nil where the head, or how high it stands, is not known.
func over(p *Plan, standoff *float64) func(x, y, height float64) float64 {
	model := p.opt.places
	if model == nil || standoff == nil {
		return nil
	}
	return func(x, y, height float64) float64 {
		return max(0, model.Highest(&machine.Move{To: machine.Point{X: x, Y: y}})-height-*standoff)
	}
}
