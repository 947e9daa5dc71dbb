package sheet

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"
)

// zoneColours run from dark violet for the lowest zone over blue and green to
// ochre for the highest. Their lightness grows evenly, so that they stay in
// order in grey print and in any form of colour blindness, and all are dark
// enough for white paper.
var zoneColours = func() palette.ColorMap {
	m, err := moreland.NewLuminance([]color.Color{
		color.NRGBA{0x22, 0x0c, 0x54, 0xff},
		color.NRGBA{0x24, 0x48, 0x9c, 0xff},
		color.NRGBA{0x20, 0x74, 0x80, 0xff},
		color.NRGBA{0x66, 0x86, 0x24, 0xff},
		color.NRGBA{0xc0, 0x84, 0x14, 0xff},
	})
	if err != nil {
		panic(err) // the colours above are not in order of their lightness
	}
	m.SetMin(0)
	m.SetMax(1)
	return m
}()

// colour is that of zone i of n, the highest first.
func colour(i, n int) string {
	at := 1.0
	if n > 1 {
		at = 1 - float64(i)/float64(n-1)
	}
	c, err := zoneColours.At(at)
	if err != nil {
		return "#1c1c1c" // at lies between the ends
	}
	r, g, b, _ := c.RGBA()
	return fmt.Sprintf("#%02x%02x%02x", r>>8, g>>8, b>>8)
}
