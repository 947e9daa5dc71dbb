// Package report draws pictures of what the tool knows: lenses with their
// depth, and maps of a surface with the points that were touched. They are made
// for print as well as for a screen: whoever cannot tell their colours apart, or
// has them in grey, can tell them by their dashes and their lightness.
//
// It draws what it is given, through gonum/plot, and reads no files; flags and
// exit codes are not known here.
package report
