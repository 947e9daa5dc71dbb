package probe

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/clearance"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/surface"
)

// part is what moves over the bench as one: the tip of the touch tool, or that
// of the head. focus is where the focus stands when the tool touches a place.
type part struct {
	name  string
	model *clearance.Model
	focus [3]float64
}

// Clear reports where touching on a bench, with travels clearMM over the datum,
// comes too near to boxes; head is nil where it is not known. Stock is taken to
// lie as low as a touch reaches: how high it stands is what touching is for. The
// error is a *diag.Error with place and amount.
func (p *Plan) Clear(m *record.Machine, clearMM float64, boxes []surface.Box, head *clearance.Head) error {
	half := focus.HalfDecimal(m.DecimalsMM(), m.DecimalsInch(), nil).MM
	low := -m.ProbeDepthMM
	// As much lower as is not certain of a height, and as much again for the
	// rounding of bounds: a tool that touches stands on the stock.
	stock, err := p.flat(low - 2*half)
	if err != nil {
		return err
	}
	slack := clearance.Slack{Lateral: math.Sqrt2 * half, Height: half}
	o := m.ProbeOffsetMM
	for _, part := range []part{
		{"touch tool", clearance.New(stock, &clearance.Head{Boxes: boxes}, slack), [3]float64{}},
		{"head", clearance.New(stock, head, slack), [3]float64{-o[0], -o[1], -m.Sigma() * o[2]}},
	} {
		if part.model == nil {
			continue
		}
		if err := p.travelsClear(&part, clearMM); err != nil {
			return err
		}
		for _, q := range p.Places {
			if over := part.over(q, q, low); over > 0 {
				return diag.Errorf(diag.Unmet, "move what stands there, or give a smaller probe_depth_mm in the profile",
					"touching at %s, down to %g mm, takes the %s %s mm too low for what stands there", phrase.XY(q[0], q[1]), low, part.name, phrase.MM(over))
			}
		}
	}
	return nil
}

// travelsClear looks at the ways from place to place, and back to the first.
func (p *Plan) travelsClear(part *part, clearMM float64) error {
	worst, from, to := 0.0, orb.Point{}, orb.Point{}
	for k, a := range p.Places {
		b := p.Places[(k+1)%len(p.Places)]
		if over := part.over(a, b, clearMM); over > worst {
			worst, from, to = over, a, b
		}
	}
	if worst == 0 {
		return nil
	}
	return diag.Errorf(diag.Unmet, fmt.Sprintf("give --clear %g at least, or move what stands there", math.Ceil((clearMM+worst)*1e3)/1e3),
		"between the touches at %s and %s the %s travels %s mm too low for what stands there",
		phrase.XY(from[0], from[1]), phrase.XY(to[0], to[1]), part.name, phrase.MM(worst))
}

// over is by how many mm the part is too low on a straight way of the touch tool
// at a height.
func (p *part) over(a, b orb.Point, height float64) float64 {
	x, y := p.focus[0], p.focus[1]
	return p.model.Straight(a[0]+x, a[1]+y, b[0]+x, b[1]+y) - (height + p.focus[2])
}

// flat is stock of one height.
func (p *Plan) flat(height float64) (*surface.Placed, error) {
	ends := func(v []float64) []float64 { return []float64{v[0], v[len(v)-1]} }
	s, err := surface.Take(ends(p.X), ends(p.Y), []float64{height, height, height, height})
	if err != nil {
		return nil, err
	}
	return surface.Place(s, surface.Placement{Raw: true})
}
