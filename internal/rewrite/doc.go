// Package rewrite is the pen: it writes a program out of a program, and is the
// only room that does. It knows modes, offsets, units, numbers, checksums, line
// length, feed, comments, rehearsal and line ends; the correction c, where burns go
// and what is clear are the caller's.
//
// A Pen takes the items of a program in order. Pass writes one, byte for byte where
// nothing has to change; PassPart a part of a burn. Jump leaves blocks out, PassRest
// all of a block that moves or burns: what the original has in force and the written
// program has not is said where it matters next. MoveTo, MoveZ, FeedTo, BeamOff,
// StayDark and Wait put blocks in.
package rewrite
