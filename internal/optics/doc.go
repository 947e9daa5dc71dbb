// Package optics holds the formulas of the focused beam (S. A. Self, Applied
// Optics 22, 658 (1983)), and the fit of a beam to widths that were measured
// along it.
//
// Diameters are 1/e² diameters (of a real beam: four standard deviations, as
// ISO 11146-1 has it). Lengths are in mm but for the wavelength, in nm. M2 is
// the beam quality factor M², 1 for the ideal beam. Arguments are taken to be
// finite and above zero; whoever reads them from people checks that.
package optics
