// Package corridor finds the path of a correction through a tube: values in,
// values out.
//
// The unknown is a correction c in mm over time in s. Gates stand along the
// path, and each has a window of allowed c, wider the more of the usable depth
// is spent; between two gates the tube is the trapezoid that joins their
// windows. A window of gates is planned at once, in four steps: what part of
// the depth is spent where, and how long each stretch takes, so that a rate of c
// is kept (budget.go, travels.go); the taut string through that tube, which has
// at once the least greatest slope and the least total variation (string.go);
// few corners near the string, spaced so that moves can be cut there (thin.go);
// and how much of the window may be committed, the rest being looked ahead at
// (commit.go). What cannot be met is returned as a Violation.
//
// Not here: what the windows come from, and what corners become. The package
// knows neither lines nor text nor machine moves.
package corridor
