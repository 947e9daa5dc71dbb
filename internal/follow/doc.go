// Package follow lays the correction of a program over a surface and writes
// the program that stays in focus.
//
// The unknown is the correction c, in mm, positive away from the stock. The
// surface and the lens leave at each point of the toolpath a window of
// allowed c; along the path the windows form a tube. The package draws the
// tube against time (tube.go), has a path laid through it (package corridor),
// and edits the blocks whose Z must change (write.go); every other block passes
// on byte for byte.
//
// It streams: a bounded number of gates is looked ahead, so memory does not
// grow with the program (except under BeamOff, by the longest unbroken run
// of burns).
//
// Not here: options, files and exit codes (package cli), and any check of
// the result (package verify, which shares none of this code).
package follow
