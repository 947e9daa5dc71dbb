// Package program reads and writes RS274 programs without loss.
//
// A Reader gives one Block per line. The block keeps the line's own bytes
// beside its words, so what nobody changes is written as it was read:
// comments, spacing, case, line ends and the spelling of numbers included.
// AppendChanged spells a block with some words changed, AppendBlock and
// AppendComment make new lines in the style of their neighbours.
//
// The package knows what a line is and what a number is, not what a word
// does: modes, motion and the beam belong to package machine. It reads the
// language of the NIST RS274/NGC Interpreter, Version 3 (NISTIR 6556), and
// what came later: ";" comments, checksums ("*NN"), "$" lines, program numbers
// and texts for a display (M117, M118). Parameters ("#"), expressions ("[ ]")
// and subprograms (O words) are refused as valid but not supported.
//
// Long programs are nearly all plain motion lines: Each hands those on many at a
// time, as PlainLines, which say what the line's block would. A fuzz test holds
// them to it, and another the words of blocks to what a library makes of them.
package program
