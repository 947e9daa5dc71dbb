// Package measured reads what people measure of a lens: widths of the beam
// over z, and the verdicts on the rungs of a focus ladder; and tells what the
// verdicts come to. Files are CSV in any of its usual forms. What cannot be
// read is a *diag.Error with line and column.
//
// The physics is optics'. Lens records, flags and exit codes are not known
// here.
package measured
