// Package zone divides a job among focus zones: burns that one focus setting
// of one lens serves, in one or many pieces.
//
// A zone with the focus at F (mm over the datum) serves every burn whose
// heights h lie within [F - D - far, F - D + near], D being the wanted
// defocus: the window that package follow has for c. Which zones there are,
// where burns are cut and which zone each part is given is worked out by
// package cover; plan.go asks it for the zones, split.go for the burns.
//
// Survey reads a program and answers with a Plan, without writing anything.
// Plan.Split reads it again and writes one program for each zone (out.go), with
// a pen of package rewrite: the zone's burns at one correction, ways between
// them that are clear (join.go), and the original's own end (tail.go). It has
// package sheet write maps, a list and a sheet for the bench (finish.go). Both
// stream: what is kept does not grow with the program, but for the places where
// zones change. Within has the surface followed within zones (within.go).
//
// Not here: how lines are read and spelled (packages stream and rewrite),
// options, folders and exit codes (job and cli), and any check of the result
// (package set, which shares none of this code).
package zone
