// Package least finds the parameters whose model misses what was measured by
// the least sum of squares: of a model that is linear in them by QR
// decomposition, of any other by descent from a start. It gives the
// uncertainties that the residuals show.
//
// It knows neither units nor what is measured. Linear algebra is gonum's.
package least
