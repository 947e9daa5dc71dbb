package probe

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/surface"
)

// body is what moves over the bench as one: the tip of the touch tool, or that
// of the head. Where the tool stands at a place, the focus is beside it by shift.
type body struct {
	name  string
	model *clearance.Model
	shift [3]float64
	loose bool // its travels, see machine.Move
}

// over is by how many mm the body is too low while the touch tool travels
// from a to b at a height.
func (b *body) over(from, to orb.Point, height float64) float64 {
	x, y, z := b.shift[0], b.shift[1], b.shift[2]
	way := machine.Move{Kind: machine.Line, Loose: b.loose, Length: planar.Distance(from, to),
		From: machine.Point{X: from[0] + x, Y: from[1] + y}, To: machine.Point{X: to[0] + x, Y: to[1] + y}}
	return b.model.Highest(&way) - (height + z)
}

// Clear reports where touching on a bench, with travels as high as aloft says,
// comes too near to boxes, which stand on every turn of stock that goes round once in
// so many mm of Y, 0 for stock that does not; head is nil where it is not known. The
// way in is from where the beam stands at start, nil where nobody knows. Stock is
// taken to lie as low as a touch reaches: how high it stands is what touching is for.
// The error is a *diag.Error with place and amount.
func (p *Probing) Clear(m *record.Machine, aloft Aloft, boxes []surface.Box, turn float64, head *bench.Head, start *[2]float64) error {
	all, err := p.bodies(m, boxes, turn, head)
	if err != nil {
		return err
	}
	if p.Stock != nil {
		if err := p.clearOfStock(m, aloft, head); err != nil {
			return err
		}
	}
	o := m.ProbeOffsetMM
	for _, b := range all {
		if start != nil {
			from := orb.Point{start[0] + o[0], start[1] + o[1]}
			height := p.Highest(aloft)
			if over := b.over(from, p.Places[0], height); over > 0 {
				return diag.Errorf(diag.Unmet, higher(height+over),
					"from the start at %s to the first touch at %s the %s travels %s mm too low for what stands there",
					phrase.XY(start[0], start[1]), phrase.XY(p.Places[0][0], p.Places[0][1]), b.name, phrase.MM(over))
			}
		}
		if err := p.travelsClear(&b, aloft); err != nil {
			return err
		}
		for _, q := range p.Places {
			if over := b.over(q, q, -m.ProbeDepthMM); over > 0 {
				return diag.Errorf(diag.Unmet, "move what stands there, or give a smaller probe_depth_mm in the profile",
					"touching at %s, down to %g mm, takes the %s %s mm too low for what stands there", phrase.XY(q[0], q[1]), -m.ProbeDepthMM, b.name, phrase.MM(over))
			}
		}
	}
	return nil
}

// Touchable gives what reports whether a place can be touched without coming too near to
// what Clear looks at.
func (p *Probing) Touchable(m *record.Machine, boxes []surface.Box, turn float64, head *bench.Head) (func(orb.Point) bool, error) {
	all, err := p.bodies(m, boxes, turn, head)
	return func(q orb.Point) bool {
		return !slices.ContainsFunc(all, func(b body) bool { return b.over(q, q, -m.ProbeDepthMM) > 0 })
	}, err
}

// bodies are what must stay clear of what stands on the bench, the stock being flat.
func (p *Probing) bodies(m *record.Machine, boxes []surface.Box, turn float64, head *bench.Head) (all []body, err error) {
	// As much lower as is not certain of a height, and as much again for the
	// rounding of bounds: a tool that touches stands on the stock.
	stock, err := p.flat(-m.ProbeDepthMM-2*halfDecimal(m), turn)
	if err != nil {
		return nil, err
	}
	return over(stock, m, boxes, head), nil
}

// halfDecimal is how far a written place may be off along an axis.
func halfDecimal(m *record.Machine) float64 {
	return focus.HalfDecimal(m.DecimalsMM(), m.DecimalsInch(), nil).MM
}

// over are the bodies over some stock.
func over(stock *surface.Placed, m *record.Machine, boxes []surface.Box, head *bench.Head) (all []body) {
	half := halfDecimal(m)
	slack := clearance.Slack{Lateral: math.Sqrt2 * half, Height: half}
	o := m.ProbeOffsetMM
	for _, b := range []body{
		{"touch tool", clearance.New(stock, &bench.Head{Boxes: boxes}, slack), [3]float64{}, !m.RapidsStraight},
		{"head", clearance.New(stock, head, slack), [3]float64{-o[0], -o[1], -m.Sigma() * o[2]}, !m.RapidsStraight},
	} {
		if b.model != nil {
			all = append(all, b)
		}
	}
	return all
}

// clearOfStock is what Clear does of stock that is known: on travels, and for the head
// beside a tool that touches.
func (p *Probing) clearOfStock(m *record.Machine, aloft Aloft, head *bench.Head) error {
	all := over(p.Stock, m, nil, head)
	for k := range all {
		if err := p.travelsClear(&all[k], aloft); err != nil {
			return err
		}
	}
	for _, b := range all[1:] {
		for _, q := range p.Places {
			h, _ := p.Stock.At(q[0], q[1])
			if over := b.over(q, q, h); over > 0 {
				return diag.Errorf(diag.Unmet, "measure by hand (--by-hand), or with a longer touch tool",
					"touching at %s takes the %s %s mm too low for the stock beside", phrase.XY(q[0], q[1]), b.name, phrase.MM(over))
			}
		}
	}
	return nil
}

// travelsClear looks at the ways from place to place, and back to the first.
func (p *Probing) travelsClear(b *body, aloft Aloft) error {
	worst, at := 0.0, 0
	for k, q := range p.Places {
		if over := b.over(q, p.next(k), p.way(aloft, q, p.next(k))); over > worst {
			worst, at = over, k
		}
	}
	if worst == 0 {
		return nil
	}
	from, to := p.Places[at], p.next(at)
	return diag.Errorf(diag.Unmet, higher(p.way(aloft, from, to)+worst),
		"between the touches at %s and %s the %s travels %s mm too low for what stands there",
		phrase.XY(from[0], from[1]), phrase.XY(to[0], to[1]), b.name, phrase.MM(worst))
}

func higher(clearMM float64) string {
	return fmt.Sprintf("give --clear %g at least, or move what stands there", math.Ceil(clearMM*1e3)/1e3)
}

// flat is stock of one height, that perhaps goes round.
func (p *Probing) flat(height, turn float64) (*surface.Placed, error) {
	first := p.Y[0]
	last := cmp.Or(turn, p.Y[len(p.Y)-1]-first) + first
	s, err := surface.New([]float64{p.X[0], p.X[len(p.X)-1]}, []float64{first, (first + last) / 2, last}, slices.Repeat([]float64{height}, 6))
	if err != nil {
		return nil, err
	}
	if s, err = s.WithHeader(surface.Header{WrapsYMM: turn}); err != nil {
		return nil, err
	}
	return surface.Place(s, surface.Placement{Raw: true})
}
