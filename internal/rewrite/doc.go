// Package rewrite is the pen: it writes a program out of a program, and is the
// only room that does.
//
// A Pen takes the items of a program in order. Pass writes one, byte for byte
// where nothing has to change, else with the Z that leads to its correction, cut
// into pieces where the correction has corners, and with a feed that keeps the
// speed over XY. PassPart writes a part of a burn. Jump leaves blocks out, and
// PassRest all of a block that moves or burns: the pen remembers what the original
// has in force and what the written program has, and says what differs where it
// matters next. MoveTo, MoveZ, FeedTo, BeamOff and Wait put blocks in.
//
// So modes, offsets, units, numbers, checksums, line length, feed, comments,
// rehearsal and line ends are known in one place. The correction c, where burns
// go and what is clear are the caller's.
package rewrite
