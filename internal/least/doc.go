// Package least finds the parameters whose model misses what was measured by
// the least sum of squares, and the uncertainties that the residuals show.
package least
