// Package machine follows the modal state of a program and makes of each
// block the move that the head makes.
//
// An Interpreter takes blocks in order and fills one Move for each: its ends,
// its arc, how long it takes, whether it burns and with what power. The words
// of a line act in the order of RS274 (NIST RS274/NGC Interpreter, Version 3,
// NISTIR 6556, section 3.8), whatever their order in the text: a beam word
// acts before the motion on its line.
//
// What a block's words do is read in one pass, whose result is Actions; State is
// all that a program needs to be told to go on as another one does. Both are for
// those who write programs.
//
// What cannot be followed truthfully is refused at its line and column:
// malformed is what RS274 itself forbids, unsupported what is valid but would
// need more than one plane, one offset and one head.
//
// Positions are kept as whole numbers of 1e-10 mm, which hold every decimal
// that a program is likely to give in mm or inches: a program of relative
// moves does not drift, and whether an arc ends where it starts is not a
// matter of rounding.
//
// The package knows neither the surface nor the lens, and nothing of how a
// program is written.
package machine
