// Package diag says what is wrong, where, and what to do about it: one place
// in a file, and one error that carries it. The kind of an error settles the
// exit status of a run; how an error is printed is settled by who prints it.
package diag
