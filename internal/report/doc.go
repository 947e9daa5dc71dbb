// Package report draws pictures of lenses with their depth, and maps of a surface
// with the points that were touched. They are made for print as well as for a
// screen: whoever cannot tell their colours apart, or has them in grey, can tell
// them by their dashes and their lightness.
package report
