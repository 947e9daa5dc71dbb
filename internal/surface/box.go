package surface

// Box is something that stands on the bench higher than the stock, such as a
// clamp: an upright box over the rectangle from X0, Y0 to X1, Y1 (program XY,
// mm; X0 < X1, Y0 < Y1), up to Height over the datum, in mm.
type Box struct{ X0, Y0, X1, Y1, Height float64 }
