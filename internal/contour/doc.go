// Package contour draws a map of a surface: colours and contour lines of its
// heights, the touched points with what they are off, and the touches that
// were left out. It draws through gonum/plot, as SVG or PNG, and knows
// nothing of how the heights came about.
package contour
