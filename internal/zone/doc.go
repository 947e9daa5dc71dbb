// Package zone divides a job among focus zones: burns that one focus setting
// of one lens serves, in one or many pieces. A zone with the focus at F (mm over
// the datum) serves every burn whose heights h lie within [F - D - far,
// F - D + near], D being the wanted defocus: the window that package follow has
// for c. Package cover works out which zones there are, where burns are cut and
// which zone each part is given.
//
// Survey reads a program and answers with a Plan, without writing anything;
// Plan.Split reads it again and writes one program for each time that a zone is set,
// with maps, a list and a sheet for the bench. Both stream: what is kept does not grow
// with the program, but for the places where zones change and what has to be known of
// each piece to put them in order (package order). The results are checked by
// package set, which shares none of this code.
package zone
