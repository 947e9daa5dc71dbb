// Package order is the mathematics of the order in which the pieces of a divided
// job are burned.
//
// A piece is what is burned in one go in one zone: a part of one figure. Which
// pieces must wait for which others follows from where they lie: what touches
// keeps the original's order, and so does what lies inside of a closed figure
// against that figure. Under these the zones are set as few times as can be found
// (visits), and within a visit the head is lifted as seldom and travels as little
// as can be found.
//
// Places and lengths are in mm. Nothing here knows programs, text or files, and
// nothing returns an error: where the work would be too much, the result is the
// original's order, and says so.
package order
