// Package verify proves that a program keeps every burn in focus over a
// surface, and that it is still the job it was made from.
//
// It reads programs with packages program and machine and heights with
// package surface, and works everything else out by itself, with package
// extremes: a move passes only where no point of it can be outside, and fails
// only where a point was found outside (or where the search was given up, which
// the failure then says).
//
// A Stream gives a program step by step. A Judge holds one program's steps to
// what the surface, the lens and the machine ask, knowing nothing of another
// program but the step that it is said to be compared with. Run walks a program
// beside its original and says which step is which; package set does that for
// the programs of a folder.
//
// It shares no code with what writes programs, and takes nothing from it but
// the finished text.
//
// All lengths are in mm and all coordinates those of the program, unless the
// name says otherwise. The correction c is what a program adds to the Z of
// its original, counted away from the stock: c = σ (Z written - Z original),
// σ = +1 where +Z takes the lens away. Without an original the programmed
// offset counts as zero, and c = σ Z written. Over a height h and with a
// wanted defocus D, the defocus of a burn is c - h - D.
package verify
