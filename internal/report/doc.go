// Package report draws pictures: of lenses with their depth; maps of a surface, which are
// heights with contours and over them the places that were touched and what a person should
// look at; and of a job: from above over such a map, along its path against time, and how
// much of what it burns has how much defocus. They are made for print as well as for a
// screen: whoever cannot tell their colours apart, or has them in grey, can tell them by
// their dashes and their lightness. A Picture is written as a file, or put into a page,
// whose ink and paper it takes; it is drawn in two widths, with texts of one size.
package report
