package stream

import (
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// ShortestCut is the length in mm of a move that can be cut at all: both halves
// must reach ClosestCut.
const ShortestCut = 2 * ClosestCut

// ClosestCut is the least distance in mm of a cut from another point.
const ClosestCut = 0.05

// heights reads those along the move of an item that is no run.
func (s *Reader) heights(it *Item) {
	m, o, b := &it.Move, s.opt, s.batch
	it.pieces = int32(len(b.pieces))
	switch {
	case o.Surface == nil || m.Kind == machine.Still || !(it.After.XKnown && it.After.YKnown):
	default:
		lateral := o.Lateral
		if m.Length < ShortestCut || o.HoldBurns && m.Burn { // never cut
			lateral = 0
		}
		tolerance := o.Tolerance
		if m.Kind == machine.Arc {
			tolerance = o.ArcTolerance
		}
		b.pieces = AppendHeights(b.pieces, o.Surface, m, tolerance, lateral)
	}
	it.last = int32(len(b.pieces))
}

// AppendHeights appends the certified heights along a move, in pieces within
// tolerance of straight, and for a path that may be lateral mm beside it; that at
// its end where it has no length over XY, or comes from an unknown place.
func AppendHeights(dst []surface.Piece, on *surface.Placed, m *machine.Move, tolerance, lateral float64) []surface.Piece {
	switch {
	case m.Length == 0 || m.FromUnknown:
		h, where := on.At(m.To.X, m.To.Y)
		return append(dst, surface.Piece{S1: 1, H0: h, H1: h, Where: where, Less: on.LessAt(m.To.X, m.To.Y)})
	case m.Kind == machine.Arc:
		return on.AppendArc(dst, m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, tolerance, lateral)
	}
	return on.AppendLine(dst, m.From.X, m.From.Y, m.To.X, m.To.Y, tolerance, lateral)
}
