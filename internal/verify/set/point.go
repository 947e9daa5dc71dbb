package set

import (
	"fmt"
	"math"

	"sagitta/internal/surface"
	"sagitta/internal/verify"
)

// pointTolerance is how far in mm the height of a focus point may be from what the list
// says: no bench sets a focus better (common practice, no source).
const pointTolerance = 0.005

// pointOn holds the focus point of a zone to the surface: there it must be as high as
// the list says, by which the operator sets the lens.
func (w *pairing) pointOn(r *zone) {
	at := r.list.FocusPointMM
	said, told := r.list.pointHeight(w.set.SetZ)
	if !told {
		return
	}
	h, where := r.Opt.Surface.At(at[0], at[1])
	off, detail := h-said, fmt.Sprintf("the surface is %s mm high there, and %s mm by the list", verify.Number(h), verify.Number(said))
	switch {
	case where != surface.On:
		off, detail = math.NaN(), "the surface has no height there"
	case math.Abs(off) <= pointTolerance:
		return
	}
	r.Res.Fail(verify.Violation{Kind: verify.FocusPoint, X: at[0], Y: at[1], Amount: off, Detail: detail})
}

// atFocusStop takes the wait under way, at which the operator sets the zone's focus:
// the head must stand over the focus point.
func (r *zone) atFocusStop() {
	st, at := r.State(), r.list.FocusPointMM
	z := r.Opt.Sigma() * st.At.Z
	r.stopZ = &z
	off := math.Hypot(st.At.X-at[0], st.At.Y-at[1])
	f := verify.Violation{Kind: verify.FocusPoint, Line: r.S.Line, X: st.At.X, Y: st.At.Y, Amount: off}
	switch {
	case !st.XKnown || !st.YKnown:
		f.X, f.Y, f.Amount, f.Detail = math.NaN(), math.NaN(), math.NaN(), "where the head stands as the focus is set is not known"
	case off > r.Tolerance():
		f.Detail = fmt.Sprintf("as the focus is set the head stands %s mm from X%s Y%s of the list", verify.Number(off), verify.Number(at[0]), verify.Number(at[1]))
	default:
		return
	}
	r.Res.Fail(f)
}

// focusStop holds the Z at which the focus is set to that from which it counts.
func (r *zone) focusStop() {
	if r.stopZ == nil || r.list.FocusStopLine == 0 {
		return
	}
	if off := *r.stopZ - r.focus - *r.list.FocusMM; math.Abs(off) > r.LastZ() {
		r.Res.Fail(verify.Violation{Kind: verify.FocusPoint, Line: r.list.FocusStopLine, X: math.NaN(), Y: math.NaN(), Amount: off,
			Detail: fmt.Sprintf("as the focus is set Z stands %s mm from where it counts", verify.Number(off))})
	}
}
