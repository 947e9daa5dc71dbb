// Package extremes finds the least and the greatest of what a judge asks of a
// move over a surface: the height below it, how far the lens is from it, and
// what stands highest beneath the head.
//
// Nothing is sampled and hoped for. Along a straight move the height between
// two grid lines is one polynomial, which its Bernstein coefficients bound; an arc
// is bounded by its chords, and what lies below a head by the cells within its
// radius. All are halved until nothing is left that could matter. What was given
// up is said.
//
// All lengths are in mm and all coordinates those of the program, unless the
// name says otherwise.
package extremes
