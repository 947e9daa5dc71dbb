// Package corridor finds the path of a correction c in mm over time in s through a
// tube: values in, values out. Gates stand along the path, and each has a window of
// allowed c, wider the more of the usable depth is spent; between two gates the
// tube is the trapezoid that joins their windows.
//
// A window of gates is planned at once: what part of the depth is spent where, and
// how long each stretch takes, so that a rate of c is kept (budget.go); the taut
// string through that tube (string.go); which rows of burns stand still beside each other
// (hold.go); where Z has inertia, a path near the string that turns no faster than the head
// takes (round.go), made of what can be reached from gate to gate (carry.go), and links
// along it (chord.go); else few corners near the string, spaced so that moves can be cut
// there (thin.go); and how much of the window may be committed
// (gate.go). What cannot be met is returned as a Violation.
package corridor
