// Package timing tells how long a program takes on a bench with inertia, and what of its
// burns goes slower for it than in the program it was made from. It reads the text of
// programs, whatever wrote them, and has package motion plan their moves.
//
// Programs are read side by side, and what is held in memory is what a controller would
// have to look ahead at.
package timing
