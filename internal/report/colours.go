package report

import (
	"image/color"

	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"
)

// scale runs from dark blue to pale yellow. Its lightness grows evenly, so
// that it is in order in grey print; blue and yellow stay apart in every
// common form of colour blindness (blue and yellow are the axis that the
// commonest, red-green, leaves).
var scale = []color.Color{
	color.NRGBA{0x10, 0x1e, 0x4f, 0xff},
	color.NRGBA{0x3f, 0x4f, 0x74, 0xff},
	color.NRGBA{0x77, 0x7c, 0x86, 0xff},
	color.NRGBA{0xb6, 0xab, 0x74, 0xff},
	color.NRGBA{0xf8, 0xe9, 0x8b, 0xff},
}

// colours returns the scale from low to high, or about them where they are
// one.
func colours(low, high float64) palette.ColorMap {
	m, err := moreland.NewLuminance(scale)
	if err != nil {
		panic("report: " + err.Error()) // the scale is in order of its lightness
	}
	if low == high {
		low, high = low-0.5, high+0.5
	}
	m.SetMin(low)
	m.SetMax(high)
	return m
}
