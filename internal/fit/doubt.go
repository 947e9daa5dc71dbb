package fit

import "sagitta/internal/surface"

// Doubt is something about measured heights that a person should look at: nothing is
// mended unasked.
type Doubt struct {
	// What says what is doubted and why, Mend what would settle or mend it; sentences
	// without an end.
	What, Mend string
	// Places are where it is, the most doubted first: to be touched again. A line of 0 is
	// of a place that was not touched.
	Places []surface.Point
}
