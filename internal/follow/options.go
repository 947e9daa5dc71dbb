package follow

import (
	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/corridor"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// rounding is the relative error allowed to what is met exactly in theory.
const rounding = 1e-9

// Options are the settings of a run. Lengths are in mm.
type Options struct {
	// Options say how the program is written.
	rewrite.Options
	// Surface gives the heights over the datum, in program XY.
	Surface *surface.Placed
	// Depth is the usable depth, all deductions made.
	Depth focus.Depth
	// Use is the part of the depth to spend while nothing forces more.
	Use float64
	// Defocus is the wanted defocus, + further; it is the rest value of c.
	Defocus float64
	// Rules tells of which kind burns are, nil where all are of kind 0, whose depth, use
	// and defocus are those above; Kinds are those of kind 1 and on.
	Rules *stream.Kinds
	Kinds []focus.Aim
	// OutsideHold lets burns off the surface pass at the edge's height.
	OutsideHold bool
	// Head is the head that must stay clear of the stock; nil where it is not
	// known.
	Head *bench.Head
	// Setting says where the focus is set, and what Z counts there, for a program whose first
	// burn begins at a place, in clauses, for the comment of a changed program; nil says nothing.
	Setting func(first machine.Point) []string
	// From is where the head stands before the program says where it goes, in
	// program XY; nil where that is not known.
	From *[2]float64
	// Window is how many gates are looked ahead at least; 0 is the default.
	Window int

	// model is made of Head.
	model *clearance.Model
	// passes is what travels ask for.
	passes focus.Aim
	// blocks plans every line as a block, for a test.
	blocks bool
}

const (
	// pieceTolerance is the excess of a stretch over its chord, as a part
	// of the depth, above which the stretch is cut for a further gate. What
	// it takes off the tube must be small against the tenth that thinning
	// lives on.
	pieceTolerance = 0.002
	// arcTolerance is the same for an arc, of which a part leaves its chord
	// wherever it is cut: half as many gates again would be needed for less.
	arcTolerance = 0.004
	// tipTolerance is how much more than need be the head may ask for on a
	// slope, as a part of the depth: small against what the window leaves.
	tipTolerance = 0.01
)

// mm is a part of the least depth of any kind in mm, which is half of both its sides.
func (o *Options) mm(part float64) float64 {
	least := o.Depth.Near + o.Depth.Far
	for _, a := range o.Kinds {
		least = min(least, a.Near+a.Far)
	}
	return part * least / 2
}

// aim is what burns of a kind ask for.
func (o *Options) aim(kind int) focus.Aim {
	if kind == 0 {
		return focus.Aim{Depth: o.Depth, Use: o.Use, Defocus: o.Defocus}
	}
	return o.Kinds[kind-1]
}

// terms are those of the corridor.
func (o *Options) terms() corridor.Terms {
	most := o.Depth
	for _, a := range o.Kinds {
		most.Near, most.Far = max(most.Near, a.Near), max(most.Far, a.Far)
	}
	return corridor.Terms{Depth: most, Use: o.Use, Rate: o.ZRate, Slowest: o.Slowest, Rest: o.Defocus, Step: o.Step(false), Inertia: o.Inertia}
}

// swing is how far apart what burns ask for may be, in mm.
func (o *Options) swing() float64 {
	lo, hi, _, _ := o.Surface.Range()
	least, most := o.Defocus, o.Defocus
	for _, a := range o.Kinds {
		least, most = min(least, a.Defocus), max(most, a.Defocus)
	}
	return hi - lo + (most - least)
}

// lead is how far over a height c stays by the depth alone.
func (o *Options) lead() float64 { return o.passes.Defocus - o.passes.Near }

// clearance is the model of the head, nil where that is not known. A cut may be
// off the path by rounding, and Z by half a step.
func (o *Options) clearance() *clearance.Model {
	slack := clearance.Slack{Lateral: o.Lateral(), Tolerance: o.mm(tipTolerance)}
	if o.ZMoves != bench.ByHand {
		slack.Height = o.Rounding()
	}
	return clearance.New(o.Surface, o.Head, slack)
}
