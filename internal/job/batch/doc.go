// Package batch does many jobs side by side: it finds their files, tells which of them
// have nothing to do because nothing changed since they were done, keeps a log, and
// gives the status of all. What doing a job is, it does not know.
//
// Errors are those of package diag.
package batch
