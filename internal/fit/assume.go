package fit

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/internal/surface"
)

const (
	// assumeLeast nodes along each axis tell something: of three, those at the ends
	// predict the one between them as well for a sheet like an S as for a flat one.
	assumeLeast = 4
	// assumedOrder is the power of the spacing with which what reading is off by is taken
	// to fall, from every second node to all of them: by 2.8. Of a bow, linear reading
	// falls by 4, cubic by more; of a bump no wider than two spacings by less than 2. What
	// it falls by less than a bow does is what so few nodes are paid with: it widens the
	// error as Student's factor for some four degrees of freedom would.
	assumedOrder = 1.5
	// roughestStep in mm is the coarsest last decimal that heights are taken to have:
	// those of a flat sheet show none.
	roughestStep = 0.1
	// finestStep in mm is below what any probe tells apart.
	finestStep = 1e-6
)

// Assume estimates the standard uncertainty in mm of a height that is read anywhere on a
// grid of measured ones by a method, bilinear or bicubic, "" for bilinear: the root of the
// sum of three squares. The first is by how much what is read between every second node
// misses the others (see leaveOut), half the greatest miss at least, less for the narrower
// spacing; the second the scatter of the heights themselves (see scatterOf), by Student's
// factor for twice the uncertainty to hold for 95 of 100 (JCGM 100, annex G.3); the third
// that of their last decimal, step/√12 (JCGM 100, F.2.2.1).
//
// On drawn surfaces of four nodes along a side or more, whose features are two spacings
// wide or more, twice of it holds for 99 % of places, and it is 1.3 to 2 times what linear
// reading is off by, and more where a bump stands out from many nodes (BenchmarkAssume).
// What is narrower than two spacings no grid shows.
//
// The error says why nothing can be told.
func Assume(g *surface.Surface, method string) (mm float64, err error) {
	for _, a := range []struct {
		name  string
		nodes int
	}{{"x", len(g.X())}, {"y", len(g.Y())}} {
		if a.nodes < assumeLeast {
			return 0, fmt.Errorf("%d nodes along %s are too few to leave some out and see; %d would do", a.nodes, a.name, assumeLeast)
		}
	}
	g, err = runOn(g)
	if err != nil {
		return 0, err
	}
	missed, err := leaveOut(g, 2, cmp.Or(method, "bilinear"))
	if err != nil {
		return 0, err
	}
	scatter, free := scatterOf(g)
	if !(free >= 1) {
		return 0, errors.New("too many heights are missing")
	}
	const two, covered = 2, 0.975
	scatter *= distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(covered) / two
	// Twice of it is to hold where they are missed most, as on a bump, as well.
	missing := max(math.Sqrt(missed.mean()), missed.most/two) / math.Pow(2, assumedOrder)
	square := missing*missing + scatter*scatter + math.Pow(lastDecimal(g), 2)/12
	return ceilDigits(math.Sqrt(square), 3), nil
}

// runOn has a surface that repeats run on over its seam, by two rows.
func runOn(g *surface.Surface) (*surface.Surface, error) {
	turn := g.Header().WrapsYMM
	if turn == 0 {
		return g, nil
	}
	if err := surface.GoesRound(g.Y(), turn); err != nil {
		return nil, err
	}
	var y, z []float64
	row := func(j int, at float64) {
		y = append(y, at)
		for i := range g.X() {
			z = append(z, g.Height(i, j))
		}
	}
	for j, at := range g.Y() {
		row(j, at)
	}
	last := y[len(y)-1]
	for j := 0; len(y) < len(g.Y())+2; j++ {
		if at := g.Y()[j] + turn; at-last > surface.MinSpacingMM {
			row(j, at)
		}
	}
	return surface.New(g.X(), y, z)
}

// scatterOf gives the standard deviation of what no smooth surface explains in the
// heights of a grid, and how many degrees of freedom know it: second differences along
// one axis of those along the other, each scaled to vary as the heights do (T. Gasser,
// L. Sroka and C. Jennen-Steinmetz, Biometrika 73 (1986) 625, along a line). No bow
// along either axis, S or twist is in them. As they overlap they are fewer than they seem
// (F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110).
func scatterOf(g *surface.Surface) (sd, free float64) {
	x, y := secondDifferences(g.X()), secondDifferences(g.Y())
	var m misses
	for j := range y {
		for i := range x {
			d := 0.0
			for b, v := range y[j] {
				for a, u := range x[i] {
					d += u * v * g.Height(i+a, j+b)
				}
			}
			if d == d {
				m.squares += d * d
				m.n++
			}
		}
	}
	return math.Sqrt(m.mean()), freeOf(x) * freeOf(y) * float64(m.n) / float64(len(x)*len(y))
}

// secondDifferences gives the weights of three nodes each by which a line cancels out,
// scaled for their squares to sum up to 1.
func secondDifferences(node []float64) [][3]float64 {
	w := make([][3]float64, len(node)-2)
	for i := range w {
		a, b := node[i+1]-node[i], node[i+2]-node[i+1]
		w[i] = [3]float64{b, -a - b, a}
		length := math.Hypot(math.Hypot(a, b), a+b)
		for k := range w[i] {
			w[i][k] /= length
		}
	}
	return w
}

// freeOf is how many degrees of freedom overlapping differences have: the square of the
// trace of their covariances, over the trace of their square.
func freeOf(w [][3]float64) float64 {
	n, sum := float64(len(w)), float64(len(w))
	for i := range w {
		for apart := 1; apart < 3 && i+apart < len(w); apart++ {
			c := 0.0
			for k := apart; k < 3; k++ {
				c += w[i][k] * w[i+apart][k-apart]
			}
			sum += 2 * c * c
		}
	}
	return n * n / sum
}

// lastDecimal is the step in mm that all heights are multiples of, at most roughestStep
// and at least finestStep.
func lastDecimal(g *surface.Surface) float64 {
	step := roughestStep
	for _, p := range g.Points() {
		for step > finestStep {
			if n := p.Z / step; p.Z != p.Z || math.Abs(n-math.Round(n)) < 1e-3 {
				break
			}
			step /= 10
		}
	}
	return step
}
