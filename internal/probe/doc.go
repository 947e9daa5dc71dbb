// Package probe plans where stock is to be touched before a job: over just
// the area that the job burns, as few places as the depth allows, row by
// row; and writes that as a touch-probing program in RS274 (G38.2), or as a
// numbered map and a sheet to fill in by hand.
package probe
