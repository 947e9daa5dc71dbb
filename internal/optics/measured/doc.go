// Package measured reads what people measure of a lens, widths of the beam over
// z and the verdicts on the rungs of a focus ladder, and makes a lens record of
// it, with what was found in plain words. What cannot be read is a *diag.Error
// with line and column; what leads to nothing is one of kind Unmet.
package measured
