// Package file reads surfaces from text tables and writes them: grids and lists
// of points, with what their header lines say, and lists of boxes that stand on
// the bench.
package file
