// Package trace keeps of a job's path what pictures of it need, in memory that does
// not grow with the program: stretches in the order of the path, whose extremes are
// those of all that they stand for; burns as seen from above; shares of the burned
// length; and the worst places. It knows numbers alone: no program, no surface.
//
// Lengths are in mm, times in seconds, speeds in mm/s, places in program XY. The
// correction c, the height h over the datum and the wanted defocus D are those of
// package verify: the defocus of a burn against the wanted one is c - h - D, minus is
// nearer; its window of c is h + D + [-near, +far] of the usable depth.
package trace
