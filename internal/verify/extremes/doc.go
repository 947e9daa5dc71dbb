// Package extremes finds the least and the greatest of what a judge asks of a
// move over a surface: the height below it, how far the lens is from it, and
// what stands highest beneath the head.
//
// Nothing is sampled and hoped for: parts of a move are bounded, and halved until
// nothing is left that could matter. What was given up is said. All lengths are
// in mm and all coordinates those of the program, unless the name says otherwise.
package extremes
