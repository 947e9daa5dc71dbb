package ladder

import (
	"math"

	"sagitta/internal/stroke"
)

// Room in the block, in mm.
const (
	titleMM    = 1.8 // height of the title
	titleGapMM = 1.4
	// labelMM is the height of the labels: legible where the line is half a
	// millimetre wide, as labels are burned at best focus or near it.
	labelMM    = 1.4
	labelGapMM = 0.7
	columnGap  = 1.5
	rowGap     = 1.2 // between the figures of two powers
	bandGap    = 2.0
	// lineMM is the room that a line takes to either side of its middle, so
	// that no mark is nearer to the block's edge than half a line.
	lineMM = 0.2
)

// block is one way to break the offsets into bands of columns. A band has the
// offsets' labels on top and one row of figures for each power.
type block struct {
	columns, bands                          int
	pitch                                   float64 // of columns
	left                                    float64 // room for the powers' labels
	bandHeight, titleWidth, titleBandHeight float64
	width, height                           float64
}

// title is burned over the block.
func (l *Ladder) title() string {
	t := "LADDER F" + num(l.opt.FeedMMMin)
	if len(l.opt.PowersPct) == 1 {
		t += " " + powerText(l.opt.PowersPct[0])
	}
	return t
}

// measure works out a block of so many columns.
func (l *Ladder) measure(columns int) block {
	b := block{columns: columns, bands: (len(l.Offsets) + columns - 1) / columns}
	widest := figureWidth
	for _, off := range l.Offsets {
		widest = math.Max(widest, stroke.Width(l.offsetText(off), labelMM))
	}
	b.pitch = widest + columnGap
	rows := len(l.opt.PowersPct)
	if rows > 1 {
		for _, pct := range l.opt.PowersPct {
			b.left = math.Max(b.left, stroke.Width(powerText(pct), labelMM)+labelGapMM)
		}
	}
	b.bandHeight = labelMM + labelGapMM + float64(rows)*figureHeight + float64(rows-1)*rowGap
	b.titleWidth = stroke.Width(l.title(), titleMM)
	b.titleBandHeight = titleMM + titleGapMM
	b.width = math.Max(b.left+float64(columns)*b.pitch-columnGap, b.titleWidth) + 2*lineMM
	b.height = b.titleBandHeight + float64(b.bands)*(b.bandHeight+bandGap) - bandGap + 2*lineMM
	return b
}

// layout places rungs and labels in the block whose longer side is the
// shortest, and of those in the smallest.
func (l *Ladder) layout() {
	best := l.measure(1)
	for c := 2; c <= len(l.Offsets); c++ {
		b := l.measure(c)
		longer, shortest := math.Max(b.width, b.height), math.Max(best.width, best.height)
		if longer < shortest-slack || longer < shortest+slack && b.width*b.height < best.width*best.height {
			best = b
		}
	}
	l.columns = best.columns
	l.Width, l.Height = roundUp(best.width), roundUp(best.height)
	l.Labels = append(l.Labels, Label{l.title(), lineMM, l.Height - lineMM - titleMM, titleMM})
	wide := best.pitch - columnGap
	for i, off := range l.Offsets {
		band, column := i/best.columns, i%best.columns
		top := l.Height - lineMM - best.titleBandHeight - float64(band)*(best.bandHeight+bandGap)
		x := lineMM + best.left + float64(column)*best.pitch
		text := l.offsetText(off)
		l.Labels = append(l.Labels, Label{text, x + (wide-stroke.Width(text, labelMM))/2, top - labelMM, labelMM})
		for row, pct := range l.opt.PowersPct {
			y := top - labelMM - labelGapMM - figureHeight - float64(row)*(figureHeight+rowGap)
			if len(l.opt.PowersPct) > 1 && column == 0 {
				l.Labels = append(l.Labels, Label{powerText(pct), lineMM, y + (figureHeight-labelMM)/2, labelMM})
			}
			l.Rungs = append(l.Rungs, Rung{
				No: len(l.Rungs) + 1, OffsetMM: off, PowerPct: pct,
				X: x + (wide-figureWidth)/2, Y: y,
			})
		}
	}
}

// roundUp takes a size to the next tenth of a millimetre.
func roundUp(mm float64) float64 { return math.Ceil(mm*10-slack) / 10 }
