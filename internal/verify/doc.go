// Package verify proves that a program keeps every burn in focus over a
// surface, and that it is still the job it was made from. It takes nothing from
// what writes programs but the finished text: a move passes only where no point
// of it can be outside, and fails only where one was found outside, or where the
// search was given up, which the failure then says.
//
// A Stream gives a program step by step. A Judge holds the steps to what surface,
// lens and machine ask, knowing nothing of another program but the step that one is
// said to be compared with. Run walks a program beside its original and says which
// step is which.
//
// All lengths are in mm and all coordinates those of the program, unless the
// name says otherwise. The correction c is what a program adds to the Z of
// its original, counted away from the stock: c = σ (Z written - Z original),
// σ = +1 where +Z takes the lens away; without an original c = σ Z written. Over a
// height h and with a wanted defocus D, the defocus of a burn is c - h - D.
package verify
