package ladder

import "sagitta/internal/stroke"

// The figure, in mm. It is a square of four parts over a row of digits.
const (
	// partMM is the side of a part, partGapMM the room between two.
	partMM, partGapMM = 1.6, 0.5
	// digitMM is the height of the digits. With a line of a tenth of a
	// millimetre most of them are 0.48 mm wide; digits of 0.48 x 0.63 mm are
	// the detail to judge by (common practice, no source).
	digitMM = 0.63
	// hatches is how many tenths of a millimetre the patch's lines fill, one
	// to each: a usual raster, dense enough for one tone with the finest
	// spots.
	hatches = partMM / 0.1

	figureWidth  = 2*partMM + partGapMM
	figureHeight = 2*partMM + 2*partGapMM + digitMM
)

// DetailMM is the detail that the digits stand for, in mm.
const DetailMM = 0.5

// digits are those that are easily taken for one another when they blur.
const digits = "2538609"

// PairsMM are the distances between the two lines of a pair, in mm: from a
// spot and a half of a short lens to some spots of a long one.
func PairsMM() []float64 { return []float64{0.15, 0.2, 0.3} }

// figure gives the strokes of the figure, its lower left corner at 0, 0.
func figure() []stroke.Polyline {
	const (
		upper = digitMM + 2*partGapMM + partMM // base line of the pairs
		lower = digitMM + partGapMM            // of patch and cross
		right = partMM + partGapMM
	)
	// The same lying down: a lens may be sharp one way and not the other.
	out := pairs(func(along, across float64) stroke.Point { return stroke.Point{X: across, Y: upper + along} })
	out = append(out, pairs(func(along, across float64) stroke.Point { return stroke.Point{X: right + along, Y: upper + across} })...)
	out = append(out, patch(0, lower),
		stroke.Polyline{{X: right, Y: lower + partMM/2}, {X: right + partMM, Y: lower + partMM/2}},
		stroke.Polyline{{X: right + partMM/2, Y: lower}, {X: right + partMM/2, Y: lower + partMM}})
	left := (figureWidth - stroke.Width(digits, digitMM)) / 2
	return append(out, stroke.Text(digits, digitMM, left, 0)...)
}

// pairs gives the pairs of lines over a part, there and back; place puts them.
func pairs(place func(along, across float64) stroke.Point) (out []stroke.Polyline) {
	distances := PairsMM()
	room := partMM / float64(len(distances)-1) // between neighbouring pairs
	for _, d := range distances {
		room -= d / float64(len(distances)-1)
	}
	at := 0.0
	for _, d := range distances {
		out = append(out,
			stroke.Polyline{place(0, at), place(partMM, at)},
			stroke.Polyline{place(partMM, at+d), place(0, at+d)})
		at += d + room
	}
	return out
}

// patch gives a solid square as one stroke to and fro.
func patch(x, y float64) stroke.Polyline {
	const n = int(hatches)
	var line stroke.Polyline
	for i := range n + 1 {
		h := y + partMM*float64(i)/float64(n)
		a, b := stroke.Point{X: x, Y: h}, stroke.Point{X: x + partMM, Y: h}
		if i%2 == 1 {
			a, b = b, a
		}
		line = append(line, a, b)
	}
	return line
}
