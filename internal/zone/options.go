package zone

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/rewrite"
	"sagitta/internal/setup"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/zone/sheet"
)

// Lens is a lens that zones may be made for.
type Lens struct {
	// Name names it in files and messages.
	Name string
	// Depth is its usable depth, all deductions made.
	Depth focus.Depth
	// DetailMM is the smallest detail that it marks well, in mm; 0 where
	// that is not known.
	DetailMM float64
	// Standoff is how high the tip of the head stands over the stock at best
	// focus, nil where that is not known.
	Standoff *float64
	// FocusHeight is how much further from the stock than the bench's reference lens it
	// stands at best focus, in mm, and FocusShift how much further than the gauge sets it.
	FocusHeight, FocusShift float64
	// Unnamed tells that it has no name of its own.
	Unnamed bool
	// Spot is the diameter of its beam at best focus in mm, 0 where that is not known.
	Spot float64
	// SpotShift is where its spot stands beside that of the bench's reference lens, in
	// mm, nil where that is not known.
	SpotShift *[2]float64

	// Kinds are what burns of kind 1 and on ask for with it, see Options.Rules; those of kind
	// 0 ask for Depth and Options.Defocus. All lenses have as many.
	Kinds []focus.Aim

	usable focus.Depth // see sheet.Lens
	within []focus.Aim // Kinds as they are, where those are widened to be followed within
	passes focus.Aim   // what travels ask for
}

// Width is how wide a band of heights one setting of the lens serves, in mm.
func (l *Lens) Width() float64 { return l.Depth.Near + l.Depth.Far }

// called is what it is called.
func (l *Lens) called() string {
	if l.Unnamed {
		return "the lens"
	}
	return "lens " + l.Name
}

// Options are the settings of a run. Lengths are in mm.
type Options struct {
	// Options say how programs are written.
	rewrite.Options
	// Surface gives the heights over the datum, in program XY.
	Surface *surface.Placed
	// Lenses are those there are, in any order; at least one.
	Lenses []Lens
	// DetailMM is the smallest detail of the job: lenses that are known not
	// to mark it are left out. 0 asks for nothing.
	DetailMM float64
	// Defocus is the wanted defocus, + further.
	Defocus float64
	// OutsideHold lets burns off the surface pass at the edge's height.
	OutsideHold bool
	// Head is the tip of the head that must stay clear of the stock, but for its
	// standoff, which is the lens's; nil where it is not known.
	Head *bench.Head
	// Turn is how the focus is set, and Datum where heights count from; nil where they
	// do so from where the surface's is zero.
	Turn  setup.Turn
	Datum *[2]float64
	// Boxes stand above the stock, whether the head is known or not.
	Boxes []surface.Box
	// GaugeFoot is how wide the foot of the focus gauge is, in mm.
	GaugeFoot float64

	// Within, where not nil, has the surface followed within zones. It goes
	// with neither SetZ nor Pause, Rehearsal or a Z by hand.
	Within *Within
	// SetZ writes each zone's focus into Z; otherwise programs keep the
	// original's Z and the focus is set at the bench.
	SetZ bool
	// Pause makes one program that stops at each zone's focus point.
	Pause bool
	// Original keeps the original's order within zones.
	Original bool
	// Lead is how far the head runs with the beam off before and after a
	// seam where the original does not; where it is 0 and not LeadSaid, as far as the
	// bench needs to come to speed. Overlap is how far a burn goes on over its seam;
	// where it is 0 and not OverlapSaid, by half the spot, and not at all in rasters.
	Lead, Overlap         float64
	LeadSaid, OverlapSaid bool
	// Cuts reports whether a burn cuts, and not only marks: by its line, the number
	// of the tool word in force (-1 before the first), its feed in mm/min and its
	// power as the program says it. Nil where that is not known.
	Cuts func(line, tool int, feed, power float64) bool

	// Rules tells of which kind burns are, nil where all are of kind 0; what they ask for is
	// each lens's to say.
	Rules *stream.Kinds

	// places is made of Head, for where the focus is set and where programs count on to
	// start; model is the same, but nil where following keeps the head clear.
	places, model *clearance.Model
}

// byHand reports whether no Z may be written beyond the program's own.
func (o *Options) byHand() bool { return o.ZMoves == bench.ByHand }

// setHere is what there is to do for the focus where a program waits at a focus point of
// this height, with a lens: the point may lie higher or lower than best focus is to be, and
// the gauge knows nothing of the lens's own shift.
func (o *Options) setHere(z *sheet.Zone, l *Lens) string {
	what, off := "set the focus here", ": by the gauge on the stock, then "
	if o.SetZ {
		what, off = "see that it is in focus here", ": from where the gauge has it on the stock, "
	}
	text := what + ", " + phrase.MM(z.Focus) + " mm over the datum"
	turn := o.Turn
	turn.Inches = false // they are said in brackets, which a comment cannot have within
	if by := turn.By(z.Focus - z.Point.Height + l.FocusShift); by != "" {
		text += off + by
	}
	return text
}

// prepare works out what follows from the options.
func (o *Options) prepare() {
	slack := clearance.Slack{Lateral: o.Lateral(), Tolerance: o.pieceTol()}
	if !o.byHand() {
		slack.Height = o.Rounding()
	}
	o.places = clearance.New(o.Surface, o.Head, slack)
	if o.Within != nil {
		o.Marker = "" // following says it, and keeps the head clear where it moves
		return
	}
	o.model = o.places
}

// reading says how the program is read.
func (o *Options) reading() stream.Options {
	return stream.Options{Name: o.Name, Machine: o.Machine, Surface: o.Surface, HoldBurns: true,
		Kinds: o.Rules, Tolerance: o.pieceTol(), RunTolerance: o.runTol(), ArcTolerance: o.arcTol(), Check: o.Check}
}

// rounding covers what float64 loses in a few operations on lengths of a
// bench, in mm; it is a thousandth of the finest decimal written.
const rounding = 1e-7

// tolerance is how closely the heights along a move are bounded, as a part of
// a lens's width: what it takes off the width must not cost a zone.
const tolerance = 1e-4

// pieceTol is the tolerance in mm for the finest of the lenses.
func (o *Options) pieceTol() float64 {
	w := math.Inf(1)
	for i := range o.Lenses {
		w = min(w, o.Lenses[i].least())
	}
	return tolerance * w
}

// arcTol is pieceTol of arcs, which are many times the work for less: they are read
// again with that where they are cut.
func (o *Options) arcTol() float64 { return 8 * o.pieceTol() }

// runTol is within what the heights over the lines of a run are straight, in mm: a
// part of a lens's width that does not matter to where zones are put. How high and
// how low the stock is under a run is certain to pieceTol all the same.
func (o *Options) runTol() float64 { return o.pieceTol() / tolerance / 256 }

// seen are the heights that pieces of a move see. Nothing is beyond the
// surface's own extremes.
func (o *Options) seen(pieces []surface.Piece) cover.Span {
	seen, _ := o.burned(pieces)
	return seen
}

// burned are the heights that a burn over pieces sees, and those that a setting must
// serve for it: as much lower and higher as they are less sure than elsewhere.
func (o *Options) burned(pieces []surface.Piece) (seen, asked cover.Span) {
	low, high, _, _ := o.Surface.Range()
	seen = cover.Span{Lo: math.Inf(1), Hi: math.Inf(-1)}
	asked = seen
	for k := range pieces {
		pc := &pieces[k]
		lo, hi := max(min(pc.H0, pc.H1)-pc.Down, low), min(max(pc.H0, pc.H1)+pc.Up, high)
		seen = cover.Span{Lo: min(seen.Lo, lo), Hi: max(seen.Hi, hi)}
		asked = cover.Span{Lo: min(asked.Lo, lo-float64(pc.Less)), Hi: max(asked.Hi, hi+float64(pc.Less))}
	}
	return seen, asked
}
