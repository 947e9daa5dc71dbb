// Package page makes of a checked job one page that needs nothing else: a file that opens
// from disk, reads on a telephone, and prints with the bench sheet first. What it says it
// is given, as texts, pictures and a trace of the path; it knows no program and no surface.
//
// Without its script the page says and shows the same, but for the path, whose fixed
// picture stands there then. The script is one, known by its digest: nothing else on
// the page can run.
package page
