// Package optics holds the formulas of the focused beam: pure functions of
// waist, Rayleigh length, beam quality and wavelength; and the fit of a beam to
// widths that were measured along it.
//
// Diameters are 1/e² diameters (of a real beam: four standard deviations, as
// ISO 11146-1 has it). Lengths are in mm but for the wavelength, in nm. M2 is
// the beam quality factor M², 1 for the ideal beam. Arguments are taken to be
// finite and above zero; whoever reads them from people checks that.
//
// Source of the formulas: S. A. Self, Applied Optics 22, 658 (1983).
//
// It knows neither surfaces nor programs nor files.
package optics
