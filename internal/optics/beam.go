// Package optics holds the formulas of the focused beam (S. A. Self, Applied
// Optics 22, 658 (1983)), and the fit of a beam to widths that were measured
// along it.
//
// Diameters are 1/e² diameters (of a real beam: four standard deviations, as
// ISO 11146-1 has it). Lengths are in mm but for the wavelength, in nm. M2 is
// the beam quality factor M², 1 for the ideal beam. Arguments are taken to be
// finite and above zero; whoever reads them from people checks that.
package optics

import "math"

// mmPerNM turns a wavelength in nm into mm.
const mmPerNM = 1e-6

// Waist gives the diameter in mm at best focus, d0 = 4 M² λ f / (π D), of a
// collimated beam of diameter beamMM at a lens of focal length focalMM.
func Waist(m2, wavelengthNM, focalMM, beamMM float64) float64 {
	return 4 * m2 * wavelengthNM * mmPerNM * focalMM / (math.Pi * beamMM)
}

// Rayleigh gives the distance in mm from the waist at which the diameter has
// grown by √2: zR = π d0² / (4 M² λ).
func Rayleigh(waistMM, m2, wavelengthNM float64) float64 {
	return math.Pi * waistMM * waistMM / (4 * m2 * wavelengthNM * mmPerNM)
}

// Quality gives M² from a waist and its Rayleigh length, both in mm: the
// formula of Rayleigh, solved for M².
func Quality(waistMM, rayleighMM, wavelengthNM float64) float64 {
	return math.Pi * waistMM * waistMM / (4 * rayleighMM * wavelengthNM * mmPerNM)
}

// Diameter gives the diameter in mm at a defocus in mm (either sign) from a
// waist: d0 √(1 + (defocus/zR)²).
func Diameter(waistMM, rayleighMM, defocusMM float64) float64 {
	return waistMM * math.Hypot(1, defocusMM/rayleighMM)
}

// HalfDepth gives the defocus in mm at which the diameter has grown to k times
// the waist: zR √(k² − 1). It is 0 at k = 1; below that there is none: NaN.
func HalfDepth(rayleighMM, k float64) float64 {
	// (k−1)(k+1) keeps the digits that k²−1 loses for k near 1.
	return rayleighMM * math.Sqrt((k-1)*(k+1))
}

// WaistOf gives the waist in mm that has a Rayleigh length in mm: the formula
// of Rayleigh, solved for d0.
func WaistOf(rayleighMM, m2, wavelengthNM float64) float64 {
	return math.Sqrt(4 * m2 * wavelengthNM * mmPerNM * rayleighMM / math.Pi)
}
