// Package follow lays the correction of a program over a surface and writes
// the program that stays in focus.
//
// The unknown is the correction c, in mm, positive away from the stock. The
// surface and the lens leave at each point of the toolpath a window of
// allowed c; along the path the windows form a tube. The package draws the tube
// against time, has a path laid through it by package corridor and tells package
// rewrite where each item is to lead. It streams: a bounded number of gates is
// looked ahead, so memory does not grow with the program (except under
// bench.BeamOff, by the longest unbroken run of burns). The result is checked by
// package verify, which shares none of this code.
package follow
