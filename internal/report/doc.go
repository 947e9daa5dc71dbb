// Package report draws pictures of lenses with their depth, and maps of a surface:
// heights with contours, over them the places that were touched and what a person should
// look at. They are made for print as well as for a
// screen: whoever cannot tell their colours apart, or has them in grey, can tell
// them by their dashes and their lightness.
package report
