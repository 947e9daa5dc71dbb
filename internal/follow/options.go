package follow

import (
	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
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

// mm is a part of the depth in mm, which is half of both its sides.
func (o *Options) mm(part float64) float64 { return part * (o.Depth.Near + o.Depth.Far) / 2 }

// lead is how far over a height c stays by the depth alone.
func (o *Options) lead() float64 { return o.Defocus - o.Depth.Near }

// clearance is the model of the head, nil where that is not known. A cut may be
// off the path by rounding, and Z by half a step.
func (o *Options) clearance() *clearance.Model {
	slack := clearance.Slack{Lateral: o.Lateral(), Tolerance: o.mm(tipTolerance)}
	if o.ZMoves != bench.ByHand {
		slack.Height = o.Rounding()
	}
	return clearance.New(o.Surface, o.Head, slack)
}
