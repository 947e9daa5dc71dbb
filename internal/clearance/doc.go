// Package clearance says what the head, the boxes on the bench and the stock ask
// of a move: how high the focus must stand over the datum for the tip of the head to
// stay a gap over the highest within its radius. That the lens stays within its depth
// over the surface is the callers' matter. What is written is checked by other code
// (package extremes).
package clearance
