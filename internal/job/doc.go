// Package job makes ready what a job is run with: a surface laid under the
// program, a lens and its usable depth, a bench and its head. It turns what
// options and files say into the options of the rooms that do the job, each in
// one place; and it has what was split proved before anybody sees it (prove.go).
//
// Errors are those of the files' rooms and of package diag, kind Setting.
package job
