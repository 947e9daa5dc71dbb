package zone

import (
	"cmp"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
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
	waits := p.opt.Pause && !p.opt.byHand() // by hand the lens is raised before it comes there
	var prev *Zone
	for _, i := range inOrder {
		z := &p.Zones[i]
		stands := p.waitsAt(prev, z)
		prev = z
		head := over(p, p.opt.Lenses[z.Lens].Standoff)
		if p.marked.Over = head; waits {
			p.marked.Over = func(x, y, height float64) float64 {
				by := p.under(z, stands, x, y)
				if head != nil {
					by = max(by, head(x, y, height))
				}
				return by
			}
		}
		z.Point = p.marked.Place(z.Focus, of[i], before)
		before = append(before, of[i])
		if by := p.opt.Reach.Beyond(z.Point.X, z.Point.Y); by > 0 {
			fails.add(0, "there is no place to set the focus of zone %d within the reach of the axes (x_mm, y_mm): X%.3f Y%.3f is %.3f mm beyond it", z.Order, z.Point.X, z.Point.Y, by)
		}
		if by := p.under(z, stands, z.Point.X, z.Point.Y); waits && by > p.opt.Rounding()+rounding {
			fails.add(0, "there is no place to set the focus of zone %d where a program may wait for that: at X%.3f Y%.3f the lens would come nearer to the stock by %.3f mm than its depth allows; leave --pause out",
				z.Order, z.Point.X, z.Point.Y, by)
		}
		if p.opt.SetZ && !p.opt.Pause || head == nil {
			continue
		}
		if by := head(z.Point.X, z.Point.Y, z.Focus); by > p.opt.Rounding()+rounding {
			fails.add(0, "there is no place to set the focus of zone %d where the head is clear: at X%.3f Y%.3f its tip would be too close to what stands about it by %.3f mm",
				z.Order, z.Point.X, z.Point.Y, by)
		}
	}
}

// waitsAt is how high the focus is over the datum where a program with stops waits for that of a
// zone to be set: as the zone before has it, or as this one is to have it where that is higher, so
// that it was raised before, or where the program sets it.
func (p *Plan) waitsAt(prev, z *Zone) float64 {
	if prev == nil || p.opt.SetZ || prev.Lens != z.Lens {
		return z.Focus
	}
	return max(prev.Focus, z.Focus)
}

// under tells by how many mm the lens of a zone, with its focus so high, stands nearer to the
// stock at a place than travels may.
func (p *Plan) under(z *Zone, stands, x, y float64) float64 {
	h, where := p.opt.Surface.At(x, y)
	if where != surface.On {
		return 0
	}
	return max(0, h+p.opt.Lenses[z.Lens].over()-stands)
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
