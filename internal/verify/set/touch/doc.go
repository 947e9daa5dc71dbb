// Package touch finds lines that touch and come in another order than they should: the
// mathematics of it. It knows no programs.
//
// Lines are put in in the order that they should have, each as a part of a stretch with
// a rank: the lower ranks come first. Of two lines that come within Near of one another,
// the one that was put in first must not have the higher rank, unless both are of two
// stretches that join there. Places are in mm.
package touch

// Near is how near lines come to one another that touch, in mm.
const Near = 0.001

const (
	// perMM is how many steps of a coordinate make a mm, and farthest how many mm it
	// may be from zero.
	perMM, farthest = 1e4, 2e5
	// straightMM is how far a corner that is left out may be off the line, chordMM how far
	// an arc may be off its chord, and jointMM how far about a joint two stretches
	// that join there may touch, in mm.
	straightMM, chordMM, jointMM = 0.0002, 0.0001, 0.05
)
