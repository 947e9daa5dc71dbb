package svg

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
)

// Sizes of pages in mm of paper: A4, of which printers leave a margin white.
const (
	paperShort, paperLong = 210.0, 297.0
	// Margin is left white around a page.
	Margin = 10.0
	head   = 10.0 // for the title
	axis   = 10.0 // for the numbers beside the drawing
	foot   = 20.0 // for those below it, and the scale
	// MostLeaves is how many pages a drawing at its true size has at most; a larger one
	// has one page, at a round scale.
	MostLeaves = 4
	// Pad is how much is drawn around what is of interest, in mm of the bench.
	Pad = 8.0
)

// Layout is how a drawing to scale lies on its pages.
type Layout struct {
	// Per is how many mm of the bench a mm of paper is.
	Per float64

	box orb.Bound // of what is drawn, in mm of the bench
	// wide and tall are how many mm of paper the drawing has on a page at most.
	wide, tall float64
	lying      bool
	// across and down are how many pages the drawing has; with listed a list has one of
	// its own behind them.
	across, down int
	listed       bool
}

// LayOut lays out a drawing of a box, Pad included, with a list below it that is so many
// mm of paper tall.
func LayOut(box orb.Bound, list float64) Layout {
	l := Layout{box: box}
	wide, tall := box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]
	for round := 0; ; round++ {
		l.Per = [...]float64{1, 2, 5}[round%3] * math.Pow10(round/3)
		most := 1
		if round == 0 {
			most = MostLeaves
		}
		found := false
		for _, lying := range []bool{false, true} {
			w, t := paperShort, paperLong
			if lying {
				w, t = t, w
			}
			w, t = w-2*Margin-axis, t-2*Margin-head-foot
			across, down := int(math.Ceil(max(wide/l.Per/w, 1e-9))), int(math.Ceil(max(tall/l.Per/t, 1e-9)))
			if n := across * down; n <= most && (!found || n < l.across*l.down) {
				found, l.lying, l.wide, l.tall, l.across, l.down = true, lying, w, t, across, down
			}
		}
		if found {
			last := l.window(l.across*l.down - 1)
			l.listed = (last.Max[1]-last.Min[1])/l.Per+list > l.tall
			return l
		}
	}
}

// Pages is how many pages there are.
func (l *Layout) Pages() int {
	n := l.across * l.down
	if l.listed {
		n++
	}
	return n
}

// size is that of a page.
func (l *Layout) size() (wide, tall float64) {
	if l.lying {
		return paperLong, paperShort
	}
	return paperShort, paperLong
}

// window is what of the bench is drawn on page k, from the left at the top.
func (l *Layout) window(k int) orb.Bound {
	x := l.box.Min[0] + float64(k%l.across)*l.wide*l.Per
	y := l.box.Max[1] - float64(k/l.across)*l.tall*l.Per
	return orb.Bound{Min: orb.Point{x, max(y-l.tall*l.Per, l.box.Min[1])}, Max: orb.Point{min(x+l.wide*l.Per, l.box.Max[0]), y}}
}

// Scale is the scale as it is said.
func (l *Layout) Scale() string { return fmt.Sprintf("1 : %g", l.Per) }

// PageName is the file of page k of a drawing, from 0, the first of which is so called.
func PageName(first string, k int) string {
	if k == 0 {
		return first
	}
	end := filepath.Ext(first)
	return fmt.Sprintf("%s-%d%s", strings.TrimSuffix(first, end), k+1, end)
}
