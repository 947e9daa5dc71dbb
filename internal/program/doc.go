// Package program reads and writes RS274 programs without loss: what nobody changes is
// written as it was read, comments, spacing, case, line ends and the spelling of
// numbers included.
//
// A Reader gives one Block per line. Lines of words and blanks only are scanned
// without allocation; all others are normalised and read by github.com/256dpi/gcode
// v0.3.0. Where the scanner claims a line, both give the same block. Long programs are
// nearly all plain motion lines: Each hands those on many at a time, as PlainLines.
// AppendChanged spells a block with
// some words changed, AppendBlock and AppendComment make new lines in the style of
// their neighbours.
//
// What a word does belongs to package machine. The language is that of the NIST
// RS274/NGC Interpreter, Version 3 (NISTIR 6556), and what came later: ";" comments,
// checksums ("*NN"), "$" lines, program numbers and texts for a display (M117, M118).
// Parameters ("#"), expressions ("[ ]") and subprograms (O words) are refused as valid
// but not supported.
package program
