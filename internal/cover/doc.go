// Package cover is the mathematics of dividing a job among focus settings.
//
// A setting serves a closed interval of heights as wide as the usable depth. A
// greedy cover from below finds the fewest settings for what the burns see
// (fewest.go); where that leaves a choice, they are put where most burns fit one
// of them (whole.go, place.go). A burn that none serves is divided where its
// height passes the end of a setting (divide.go), and a dynamic program gives each
// burn, or part of one, its setting: first few cuts within burns, then few changes
// within unbroken runs of burns, then few changes at all (path.go).
//
// Heights and lengths are in mm, places along a burn are fractions of it, settings
// are numbers. Nothing here returns an error.
package cover
