// Package stream reads a program in one way for all who need more of it than its
// lines: what each line makes the head do, and the certified heights beneath.
//
// A Reader gives Items in the order of the program. An Item is a block with its
// move, or a run: many plain lines over which the height along the path is
// straight within a tolerance, taken together as one move.
//
// Reading runs beside what takes the items, the only concurrency there is. Items
// come in batches, whose memory is used again once all their items have been
// done with. What a Reader gives depends on the program alone, not on how reads fall.
package stream
