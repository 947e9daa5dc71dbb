// Package files opens what a run reads and puts what it makes in its place.
// A result appears whole or not at all, whatever ends the run, and never over
// what the run reads. Reads end where a signal asks for the end.
//
// Its errors are those of package diag: IO where the system fails, Setting
// where a name cannot be right.
package files
