package machine

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func bigOf(v float64) *big.Float { return new(big.Float).SetPrec(300).SetFloat64(v) }

func bigInt(v int) *big.Float { return bigOf(float64(v)) }

func bigNew() *big.Float { return new(big.Float).SetPrec(300) }

// bigArctan returns the angle of a tangent from 0 to 1: it is halved until its
// series is short.
func bigArctan(t *big.Float) *big.Float {
	const halvings, terms = 6, 24
	for range halvings {
		root := bigNew().Mul(t, t)
		root.Sqrt(root.Add(root, bigInt(1)))
		t = bigNew().Quo(t, root.Add(root, bigInt(1)))
	}
	square := bigNew().Mul(t, t)
	sum := bigNew()
	for k := terms; k >= 0; k-- {
		term := bigNew().Quo(bigInt(1), bigInt(2*k+1))
		sum = term.Sub(term, sum.Mul(sum, square))
	}
	sum.Mul(sum, t)
	return sum.Mul(sum, bigInt(1<<halvings))
}

var bigPi = func() *big.Float { p := bigArctan(bigInt(1)); return p.Mul(p, bigInt(4)) }()

// bigAngle is angle with some 200 bits, from the quadrants up instead of from
// octants.
func bigAngle(y, x float64) *big.Float {
	ax, ay := bigOf(math.Abs(x)), bigOf(math.Abs(y))
	half := bigNew().Quo(bigPi, bigInt(2))
	var a *big.Float
	if ay.Cmp(ax) <= 0 {
		a = bigArctan(bigNew().Quo(ay, ax))
	} else {
		a = bigNew().Sub(half, bigArctan(bigNew().Quo(ax, ay)))
	}
	if math.Signbit(x) {
		a.Sub(bigPi, a)
	}
	if y <= 0 {
		a.Sub(bigNew().Mul(bigPi, bigInt(2)), a)
	}
	return a
}

// ulpsOff tells by how many units in the last place an angle is wrong.
func ulpsOff(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	off, _ := bigNew().Sub(bigOf(got), want).Float64()
	return math.Abs(off) / (math.Nextafter(w, 9) - w)
}

// genDirection draws directions: of all sizes, on and a few floats beside the axes,
// the diagonals and the steps of angleOf and the places halfway between them.
func genDirection(t *rapid.T) (y, x float64) {
	mantissa := rapid.Float64Range(1, 2)
	size := rapid.OneOf(rapid.IntRange(-3, 3), rapid.IntRange(-1074, 1022))
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		y = math.Ldexp(mantissa.Draw(t, "y"), size.Draw(t, "y size"))
		x = math.Ldexp(mantissa.Draw(t, "x"), size.Draw(t, "x size"))
	case 1:
		y, x = float64(rapid.IntRange(0, 9).Draw(t, "y")), float64(rapid.IntRange(1, 9).Draw(t, "x"))
	default:
		x = math.Ldexp(mantissa.Draw(t, "x"), rapid.SampledFrom([]int{0, -900, 900}).Draw(t, "size"))
		y = x * float64(rapid.IntRange(0, 2*angleSteps).Draw(t, "half steps")) / (2 * angleSteps)
		y = math.Float64frombits(math.Float64bits(y) + uint64(rapid.IntRange(0, 3).Draw(t, "beyond")))
	}
	if rapid.Bool().Draw(t, "swap") && y != 0 {
		y, x = x, y
	}
	if rapid.Bool().Draw(t, "left") {
		x = -x
	}
	if rapid.Bool().Draw(t, "down") {
		y = -y
	}
	return y, x
}

// An angle of the wrong octant, of the step beside its own or with an error of its
// size instead of its last place would put a laser anywhere on the circle.
func TestAngle(t *testing.T) {
	// The nearest step is above a half, where floats are twice as far apart.
	worst := ulpsOff(angle(1.9761962890625, 3.625), bigAngle(1.9761962890625, 3.625))
	if worst > 2 {
		t.Errorf("off by %v beside a half", worst)
	}
	rapid.Check(t, func(t *rapid.T) {
		for range 50 {
			y, x := genDirection(t)
			got := angle(y, x)
			off := ulpsOff(got, bigAngle(y, x))
			if worst = max(worst, off); !(off <= 2) {
				t.Fatalf("angle(%g, %g) = %v, off by %v", y, x, got, off)
			}
		}
	})
	t.Logf("at most %.3f units in the last place off", worst)
}

// An arc that ends where it starts is a full circle, not nothing, however the zero
// between has come to its sign.
func TestAngleOfTheAxes(t *testing.T) {
	zero := math.Copysign(0, -1)
	for _, c := range []struct{ y, x, want float64 }{
		{0, 1, 2 * math.Pi}, {zero, 1, 2 * math.Pi}, {0, -1, math.Pi}, {zero, -1, math.Pi},
		{1, 0, math.Pi / 2}, {1, zero, math.Pi / 2}, {-1, 0, 3 * math.Pi / 2}, {-1, zero, 3 * math.Pi / 2},
		{5e-324, 1, 5e-324}, {-5e-324, 1, 2 * math.Pi}, {5e-324, -1, math.Pi}, {5e-324, 5e-324, math.Pi / 4},
	} {
		if got := angle(c.y, c.x); got != c.want {
			t.Errorf("angle(%g, %g) = %v, want %v", c.y, c.x, got, c.want)
		}
	}
}

// The other way round the angle is what is left of the turn, and the way back is as
// long as the way there: a tiny arc too.
func TestSweepEitherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.IntRange(-2000, 2000)
		x0, y0 := float64(c.Draw(t, "x0"))/1000, float64(c.Draw(t, "y0"))/1000
		x1, y1 := float64(c.Draw(t, "x1"))/1000, float64(c.Draw(t, "y1"))/1000
		if x0 == 0 && y0 == 0 || x1 == 0 && y1 == 0 {
			return
		}
		left, right := sweep(3, x0, y0, x1, y1), sweep(2, x0, y0, x1, y1)
		back := sweep(2, x1, y1, x0, y0)
		if !(left > 0 && left <= 2*math.Pi && right < 0 && right >= -2*math.Pi && math.Abs(left+back) <= 2e-15*left) {
			t.Fatalf("left %v, right %v, back %v", left, right, back)
		}
		if sum := left - right; math.Abs(sum-2*math.Pi) > 4e-15 && (left != 2*math.Pi || right != -left) {
			t.Fatalf("left %v and right %v are no turn", left, right)
		}
	})
}
