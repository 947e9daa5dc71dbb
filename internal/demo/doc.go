// Package demo is the job that the tool shows itself with.
//
// A workshop that makes lanterns burns the chart of a canal, both invented,
// into a plywood panel of 300 x 200 mm that has cupped in a damp store.
// chart.gcode is the job as three drawing programs would have written it: the
// frame under constant power, lettering and curves under power that follows
// speed, the mere as a raster picture, and a row of ornaments in relative
// moves. It was drawn once, by a program of its own. Lens record and machine
// profile are invented as well.
package demo
