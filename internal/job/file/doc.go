// Package file reads and writes job files: which program is to be done with which
// surface, lenses and bench, in which way, and where its results go. All names in one
// lead from the folder that it stands in, and none out of it; what it says is data, and
// nothing in it is run.
//
// Its errors are of kind diag.Setting, each with the line and column of the field.
package file
