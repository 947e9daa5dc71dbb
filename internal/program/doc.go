// Package program reads and writes RS274 programs without loss: what nobody changes is
// written as it was read, comments, spacing, case, line ends and the spelling of
// numbers included.
//
// A Reader gives one Block per line. Long programs are nearly all plain motion lines:
// Each hands those on many at a time, as PlainLines. AppendChanged spells a block with
// some words changed, AppendBlock and AppendComment make new lines in the style of
// their neighbours.
//
// What a word does belongs to package machine. The language is that of the NIST
// RS274/NGC Interpreter, Version 3 (NISTIR 6556), and what came later: ";" comments,
// checksums ("*NN"), "$" lines, program numbers and texts for a display (M117, M118).
// Parameters ("#"), expressions ("[ ]") and subprograms (O words) are refused as valid
// but not supported.
package program
