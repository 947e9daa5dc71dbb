// Package placed writes the program of many parts out of that of one: for each place in
// turn the whole of it, shifted and turned over XY, and between two parts what brings
// the bench back to where the program begins. What it does not have to change it passes
// byte for byte; the ends of all parts but the last go.
//
// What cannot be placed truthfully is refused at its line and column: places that only
// the machine knows, offsets of the program's own, a centre given as a place, and lines
// with checksums. That what was
// written does at each place what the program does is for package verify/placed to say.
package placed
