// Package inertia tells how long a controller takes over a path whose axes have inertia:
// trapezoids with unlimited look-ahead, one speed at each corner. It is the check's own
// answer, in the plainest form there is: each stretch between two places where the speed is
// sure is gone through backwards, for what must be braked for, and then forwards. It
// shares nothing with what programs are timed by when they are made.
//
// Lengths are in mm, times in s. It is mathematics: it knows neither lines nor text.
package inertia
