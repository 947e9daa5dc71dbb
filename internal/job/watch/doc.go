// Package watch finds what there is to do in a folder that jobs are dropped into: job files
// that are whole, with all that they name whole beside them, and programs without a job where
// the folder says how such are done; each once as long as nothing of it changes, and in the
// order in which they are ready. A job that failed is moved aside with the reason. What doing a
// job is, it does not know.
//
// Nothing outside the folder is read or written, not by a link either, and no input is moved or
// changed. Errors are those of package diag.
package watch
