// Package surface holds heights over a grid: it places them in a program's
// coordinates, gives the height at a point, and bounds the heights along a
// straight move or an arc.
//
// The bounds are certified: they follow from the polynomial that the height
// is within a grid cell, never from samples. All lengths are in millimetres,
// angles that are not named otherwise in radians, and up is nearer the lens.
package surface

// PlaceToleranceMM is how well a place is known to this package. A point
// outside the measured area, or inside a hole, by no more than this counts
// as being on the border, which belongs to the area. Coordinates up to
// MaxCoordMM are spaced by 1.2e-10 mm at most in float64, and a placement's
// rotation loses a few such steps: 1e-9 mm covers them, and is a millionth
// of the finest last decimal that programs are written with.
const PlaceToleranceMM = 1e-9

// Limits of what is taken as a surface.
const (
	// MaxCoordMM keeps the rounding of a place under PlaceToleranceMM; no
	// bench is a kilometre long.
	MaxCoordMM = 1e6
	// MaxHeightMM keeps the rounding of a height under 1e-9 mm (the spacing
	// of float64 at 1e5 is 1.5e-11).
	MaxHeightMM = 1e5
	// MinSpacingMM is the least distance between neighbouring nodes. Below
	// a nanometre two nodes are one written twice; it also keeps
	// PlaceToleranceMM far below any cell.
	MinSpacingMM = 1e-6
)
