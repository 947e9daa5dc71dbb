package sheet

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Sizes of the map's pages in mm of paper: A4, of which printers leave a margin white.
const (
	paperShort, paperLong = 210.0, 297.0
	mapMargin             = 10.0
	mapHead               = 10.0 // for the title
	mapAxis               = 10.0 // for the numbers beside the drawing
	mapFoot               = 20.0 // for those below it, and the scale
	// mostPages is how many pages a map at its true size has at most; a larger job is
	// drawn on one page at a round scale.
	mostPages = 4
	// mapPad is how much stock is drawn around what is burned, in mm of it.
	mapPad = 8.0
)

// layout is how a map lies on its pages.
type layout struct {
	box orb.Bound // of what is drawn, in mm of the stock
	// per is how many mm of stock a mm of paper is, and wide and tall are how many mm of
	// paper the drawing has on a page at most.
	per        float64
	wide, tall float64
	lying      bool
	// across and down are how many pages the drawing has; with listed the list of the
	// zones has one of its own behind them.
	across, down int
	listed       bool
}

// layOut lays out a map of a box, with a list of the zones that is so many mm tall.
func layOut(box orb.Bound, list float64) layout {
	l := layout{box: box}
	wide, tall := box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]
	for round := 0; ; round++ {
		l.per = [...]float64{1, 2, 5}[round%3] * math.Pow10(round/3)
		most := 1
		if round == 0 {
			most = mostPages
		}
		found := false
		for _, lying := range []bool{false, true} {
			w, t := paperShort, paperLong
			if lying {
				w, t = t, w
			}
			w, t = w-2*mapMargin-mapAxis, t-2*mapMargin-mapHead-mapFoot
			across, down := int(math.Ceil(max(wide/l.per/w, 1e-9))), int(math.Ceil(max(tall/l.per/t, 1e-9)))
			if n := across * down; n <= most && (!found || n < l.across*l.down) {
				found, l.lying, l.wide, l.tall, l.across, l.down = true, lying, w, t, across, down
			}
		}
		if found {
			last := l.window(l.across*l.down - 1)
			l.listed = (last.Max[1]-last.Min[1])/l.per+list > l.tall
			return l
		}
	}
}

// pages is how many pages there are.
func (l *layout) pages() int {
	n := l.across * l.down
	if l.listed {
		n++
	}
	return n
}

// size is that of a page.
func (l *layout) size() (wide, tall float64) {
	if l.lying {
		return paperLong, paperShort
	}
	return paperShort, paperLong
}

// window is what of the stock is drawn on page k, from the left at the top.
func (l *layout) window(k int) orb.Bound {
	x := l.box.Min[0] + float64(k%l.across)*l.wide*l.per
	y := l.box.Max[1] - float64(k/l.across)*l.tall*l.per
	return orb.Bound{Min: orb.Point{x, max(y-l.tall*l.per, l.box.Min[1])}, Max: orb.Point{min(x+l.wide*l.per, l.box.Max[0]), y}}
}

// said is the scale as it is said.
func (l *layout) said() string { return fmt.Sprintf("1 : %g", l.per) }

// IsPage reports whether a file is a page of a map by its name.
func IsPage(name string) bool {
	for k := range mostPages + 1 {
		if name == pageName(k) {
			return true
		}
	}
	return false
}

// pageName is the file of page k of a map, from 0.
func pageName(k int) string {
	if k == 0 {
		return "zones.svg"
	}
	return fmt.Sprintf("zones-%d.svg", k+1)
}
