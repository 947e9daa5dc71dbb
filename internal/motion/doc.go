// Package motion tells what a controller makes of moves: how fast each goes, along its way
// and at its corners, and how long it takes, under what the axes can do. It is the plan of
// trapezoids that controllers make, with unlimited look-ahead: constant acceleration along
// straight moves, one speed at each corner, none greater than lets the axes follow.
//
// A Planner takes moves one by one and gives them back planned, in order, as soon as
// nothing that may follow can change them. What is kept is what braking from full speed
// takes, not the whole path; nothing is allocated for a move once that much has been seen.
//
// Lengths are in mm, times in s. It is mathematics: it knows neither lines nor text.
package motion
