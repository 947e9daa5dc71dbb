// Package machine follows the modal state of a program and makes of each block the
// move that the head makes: its ends, its arc, how long it takes, whether it burns
// and with what power.
//
// The words of a line act in the order of RS274 (NIST RS274/NGC Interpreter, Version
// 3, NISTIR 6556, section 3.8), whatever their order in the text: a beam word acts
// before the motion on its line. Actions says what they do; State is all that a
// program needs to be told to go on as another one does.
//
// What cannot be followed truthfully is refused at its line and column: malformed is
// what RS274 itself forbids, unsupported what would need more than one plane, one
// offset and one head.
//
// Positions are whole numbers of 1e-10 mm, which hold every decimal that a program is
// likely to give in mm or inches: relative moves do not drift, and whether an arc
// ends where it starts is not a matter of rounding.
package machine
