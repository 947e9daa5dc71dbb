package stock

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

const (
	// along is into how many cells the longer side of the stock is divided to find its
	// contours.
	along = 90
	// levels is about how many heights have a contour.
	levels = 14
)

// lattice are heights over the stock, NaN where there are none.
type lattice struct {
	nx, ny int
	at     []orb.Point
	z      []float64
	// low and high are the extremes.
	low, high float64
}

// contours draws those of the stock, each with its figure.
func (d *Drawing) contours(s *strings.Builder) {
	l := sample(d.Stock)
	if !(l.high-l.low > 1e-4) {
		return
	}
	step := even((l.high - l.low) / levels)
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	var figures []orb.Point
	var words []string
	for k := math.Ceil(l.low / step); k*step <= l.high; k++ {
		all := l.contour(k * step)
		if len(all) == 0 {
			continue
		}
		path(s, "contour", all)
		figures = append(figures, farthest(all, figures))
		words = append(words, phrase.Signed(k*step, decimals))
	}
	for k, at := range figures {
		text(s, "figure", at, words[k])
	}
}

// even is the least of 1, 2 and 5 times a power of ten that is no less than v.
func even(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range [...]float64{1, 2, 5} {
		if m*ten >= v*(1-1e-9) {
			return m * ten
		}
	}
	return 10 * ten
}

// sample reads the heights of the stock.
func sample(p *surface.Placed) *lattice {
	x, y := p.Surface().X(), p.Surface().Y()
	wide, high := x[len(x)-1]-x[0], y[len(y)-1]-y[0]
	cell := max(wide, high) / along
	l := &lattice{nx: max(8, int(wide/cell)) + 1, ny: max(8, int(high/cell)) + 1, low: math.Inf(1), high: math.Inf(-1)}
	for j := range l.ny {
		for i := range l.nx {
			px, py := p.Program(x[0]+wide*float64(i)/float64(l.nx-1), y[0]+high*float64(j)/float64(l.ny-1))
			h, where := p.At(px, py)
			if where == surface.Hole {
				h = math.NaN()
			} else {
				l.low, l.high = min(l.low, h), max(l.high, h)
			}
			l.at, l.z = append(l.at, orb.Point{px, py}), append(l.z, h)
		}
	}
	return l
}

// contour gives the lines of one height: a piece for each triangle that it crosses, of two
// for each cell.
func (l *lattice) contour(level float64) (all []orb.LineString) {
	for j := range l.ny - 1 {
		for i := range l.nx - 1 {
			a := j*l.nx + i
			b, c, d := a+1, a+l.nx, a+l.nx+1
			all = l.cross(all, level, a, b, d)
			all = l.cross(all, level, a, d, c)
		}
	}
	return all
}

// cross adds the piece over a triangle. A corner at the level counts as above it.
func (l *lattice) cross(all []orb.LineString, level float64, corners ...int) []orb.LineString {
	var cut orb.LineString
	for k, a := range corners {
		b := corners[(k+1)%3]
		za, zb := l.z[a], l.z[b]
		if za != za || zb != zb {
			return all
		}
		if (za >= level) == (zb >= level) {
			continue
		}
		t := (level - za) / (zb - za)
		cut = append(cut, orb.Point{l.at[a][0] + t*(l.at[b][0]-l.at[a][0]), l.at[a][1] + t*(l.at[b][1]-l.at[a][1])})
	}
	if len(cut) == 2 {
		all = append(all, cut)
	}
	return all
}

// farthest gives the place on lines that is farthest from those that there are, so that
// figures do not stand on each other.
func farthest(all []orb.LineString, others []orb.Point) (best orb.Point) {
	most := -1.0
	for k, l := range all {
		at := orb.Point{(l[0][0] + l[1][0]) / 2, (l[0][1] + l[1][1]) / 2}
		least := math.Inf(1)
		for _, o := range others {
			least = min(least, near(at, o))
		}
		if len(others) == 0 {
			least = -math.Abs(float64(k) - float64(len(all))/2)
		}
		if k == 0 || least > most {
			best, most = at, least
		}
	}
	return best
}
