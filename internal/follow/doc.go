// Package follow lays the correction of a program over a surface and writes
// the program that stays in focus.
//
// The unknown is the correction c, in mm, positive away from the stock. The
// surface and the lens leave at each point of the toolpath a window of
// allowed c; along the path the windows form a tube. The package takes the items
// of package stream into a window (follow.go), draws the tube against time
// (tube.go, and tip.go where the head asks for more), has a path laid through it
// by package corridor (commit.go) and tells package rewrite where each item is
// to lead. Before the first burn c stands still (preamble.go), and after the last it
// goes back to rest (tail.go).
//
// It streams: a bounded number of gates is looked ahead, so memory does not
// grow with the program (except under bench.BeamOff, by the longest unbroken
// run of burns).
//
// Not here: how lines are read and spelled (packages stream and rewrite),
// options, files and exit codes (job and cli), and any check of the result
// (package verify, which shares none of this code).
package follow
