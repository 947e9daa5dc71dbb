// Package ladder draws a focus ladder: a program that marks one figure again
// and again while the lens steps from far to near, so that whoever looks at the
// marks can tell how much depth the lens has; a sheet to print at its true size
// (SVG), and a list for the verdicts (CSV). Offsets count in mm from best focus:
// minus is nearer the lens, plus is further from it.
//
// The order is the point of it. Labels are burned first, at best focus, so that
// they can be read beside a figure that cannot. Then the lens starts at its
// furthest and only ever comes nearer, and where it has to go up again it goes
// past its place and comes back down: lost motion of the axis is then the same
// on every rung. Best focus comes a second time at the end; where its two
// figures differ, something has drifted.
package ladder
