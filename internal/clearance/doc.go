// Package clearance says what the head, the boxes on the bench and the stock ask
// of a move: how high the focus must stand over the datum for it to be clear.
// All that is written is held to this one model: programs that follow, zones,
// ways that are laid, and what is said of them.
//
// Two things must stay clear. The lens itself stays within its depth over the
// surface under the beam; the tip of the head stays a gap over the highest that
// stands within its radius. The one is a matter of the lens's depth, the other is
// Model's. What is written is checked by other code (package extremes).
package clearance
