package machine

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/program"
)

func genNumber(t *rapid.T) program.Number {
	n := program.Number{
		Mant: rapid.OneOf(rapid.Int64Range(-999999999999999999, 999999999999999999),
			rapid.Int64Range(-1000000, 1000000)).Draw(t, "mant"),
		Dec: int8(rapid.IntRange(0, 18).Draw(t, "dec")),
	}
	// A few of them must add up to less than what is refused as too far.
	for math.Abs(n.Float()) > farthestMM/1e3 {
		n.Dec++
	}
	return n
}

// exact returns the number in mm.
func exact(n program.Number, inches bool) *big.Rat {
	r, _ := new(big.Rat).SetString(n.String())
	if inches {
		r.Mul(r, big.NewRat(254, 10))
	}
	return r
}

func (c coord) rat() *big.Rat {
	return new(big.Rat).Add(big.NewRat(c.q, unitsPerMM), new(big.Rat).SetFloat64(c.r))
}

func TestLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, inches := genNumber(t), rapid.Bool().Draw(t, "inches")
		s := scaleMM
		if inches {
			s = scaleIn
		}
		c := s.length(n)
		want := exact(n, inches)
		f, _ := want.Float64()
		off, _ := new(big.Rat).Sub(c.rat(), want).Float64()
		if n.Dec <= decimalsIn && math.Abs(f) < 1e7 && (off != 0 || c.r != 0) {
			t.Errorf("%v: off by %g", n, off)
		}
		if math.Abs(off) > 1e-25 && math.Abs(f) < 1e7 || math.Abs(off) > 4e-16*math.Abs(f) {
			t.Errorf("%v: off by %g", n, off)
		}
		if got := c.mm(); math.Abs(got-f) > 3e-16*math.Abs(f) || c.r == 0 && math.Abs(f) < 9e5 && got != f {
			t.Errorf("%v: %v mm, want %v", n, got, f)
		}
		if c.q > maxUnits || c.q < -maxUnits {
			t.Errorf("%v: %d units", n, c.q)
		}
	})
}

// Sums of relative moves are the sums of their words, of whatever decimals
// and in either unit, also where they leave the range of whole units and come
// back.
func TestRelativeMovesDoNotDrift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		text.WriteString("G91 G0\n")
		sum := new(big.Rat)
		largest := 0.0
		inches := false
		for range rapid.IntRange(1, 40).Draw(t, "moves") {
			if rapid.IntRange(0, 5).Draw(t, "switch") == 0 {
				inches = !inches
				text.WriteString(map[bool]string{true: "G20\n", false: "G21\n"}[inches])
			}
			n := genNumber(t)
			fmt.Fprintf(&text, "X%v\n", n)
			sum.Add(sum, exact(n, inches))
			f, _ := sum.Float64()
			largest = math.Max(largest, math.Abs(f))
		}
		_, st, err := runWith(at(0, 0), text.String())
		if err != nil {
			t.Fatal(err)
		}
		want, _ := sum.Float64()
		// Rests are below a unit, and are summed as floats.
		tol := 3e-16*math.Abs(want) + 40*3e-16/unitsPerMM
		if largest > 1e8 {
			tol = 40 * 3e-16 * largest
		}
		if math.Abs(st.At.X-want) > tol {
			t.Errorf("%q: %v, want %v", text.String(), st.At.X, want)
		}
	})
}

// A million steps of a tenth end where they should, to the last bit.
func TestLongRelativeProgram(t *testing.T) {
	const steps = 1000000
	text := io.MultiReader(strings.NewReader("G91 G1 F100\n"), strings.NewReader(strings.Repeat("X.1 Y-.001\n", steps)))
	r := program.NewReader(text, "t.nc")
	ip := New(DefaultConfig())
	var m Move
	for {
		b, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
	}
	if m.To != (Point{steps / 10, -steps / 1000, 0}) {
		t.Errorf("%+v", m.To)
	}
}

// A program in G91 makes the same moves as in G90, and one in inches the same
// as in mm, to the last bit.
func TestRelativeEqualsAbsolute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		inches := rapid.Bool().Draw(t, "inches")
		var rel, abs, metric strings.Builder
		unit := "G21"
		if inches {
			unit = "G20"
		}
		fmt.Fprintf(&rel, "%s G91 F1000\n", unit)
		fmt.Fprintf(&abs, "%s G90 F1000\n", unit)
		metric.WriteString("G21 G90 F25400\n")
		if !inches {
			metric.Reset()
			metric.WriteString("G21 G90 F1000\n")
		}
		inMM := func(ticks int64) string {
			if !inches {
				return mm(ticks)
			}
			v := big.NewRat(ticks*254, 10000)
			return v.FloatString(4)
		}
		var x, y, z int64
		for range rapid.IntRange(1, 20).Draw(t, "moves") {
			dx, dy, dz := genTicks(t, "dx"), genTicks(t, "dy"), genTicks(t, "dz")
			g := rapid.IntRange(0, 3).Draw(t, "g")
			x1, y1, z1 := x+dx, y+dy, z+dz
			if g < 2 {
				fmt.Fprintf(&rel, "G%d X%s Y%s Z%s\n", g, mm(dx), mm(dy), mm(dz))
				fmt.Fprintf(&abs, "G%d X%s Y%s Z%s\n", g, mm(x1), mm(y1), mm(z1))
				fmt.Fprintf(&metric, "G%d X%s Y%s Z%s\n", g, inMM(x1), inMM(y1), inMM(z1))
			} else {
				if dx == 0 && dy == 0 {
					continue
				}
				// Half a turn has the same radius at both ends; an even
				// chord has its middle at a tick.
				dx, dy = 2*dx, 2*dy
				x1, y1 = x+dx, y+dy
				fmt.Fprintf(&rel, "G%d X%s Y%s Z%s I%s J%s\n", g, mm(dx), mm(dy), mm(dz), mm(dx/2), mm(dy/2))
				fmt.Fprintf(&abs, "G%d X%s Y%s Z%s I%s J%s\n", g, mm(x1), mm(y1), mm(z1), mm(dx/2), mm(dy/2))
				fmt.Fprintf(&metric, "G%d X%s Y%s Z%s I%s J%s\n", g, inMM(x1), inMM(y1), inMM(z1), inMM(dx/2), inMM(dy/2))
			}
			x, y, z = x1, y1, z1
		}
		want, _, err := runWith(at(0, 0), abs.String())
		if err != nil {
			t.Fatalf("%s: %v", abs.String(), err)
		}
		for _, text := range []string{rel.String(), metric.String(), strings.ToLower(rel.String()),
			strings.ReplaceAll(abs.String(), " ", "")} {
			got, _, err := runWith(at(0, 0), text)
			if err != nil {
				t.Fatalf("%s: %v", text, err)
			}
			for i := range want {
				if got[i] != want[i] {
					t.Errorf("%s: move %d is\n%+v, want\n%+v", text, i, got[i], want[i])
				}
			}
		}
	})
}

// plain is a program of n plain lines.
func plain(n int) []byte {
	s := []byte("G91 G1 F1000 M4\n")
	for i := range n {
		s = fmt.Appendf(s, "X%d.%d Y%d S%d\n", i%3, i%10, i%2, i%1000)
	}
	return s
}

func TestStepDoesNotAllocate(t *testing.T) {
	r := program.NewReader(bytes.NewReader(plain(20000)), "t.nc")
	ip := New(DefaultConfig())
	var m Move
	if n := testing.AllocsPerRun(15000, func() {
		b, err := r.Next()
		if err == nil {
			err = ip.Step(b, &m)
		}
		if err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations per line", n)
	}
}

func benchmarkStep(b *testing.B, lines ...string) {
	var blocks []program.Block
	r := program.NewReader(strings.NewReader(strings.Join(lines, "\n")), "t.nc")
	for {
		next, err := r.Next()
		if err != nil {
			break
		}
		var held program.Block
		next.CopyTo(&held)
		blocks = append(blocks, held)
	}
	ip := New(at(0, 0))
	var m Move
	_ = ip.Step(&blocks[0], &m)
	blocks = blocks[1:]
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if err := ip.Step(&blocks[i], &m); err != nil {
			b.Fatal(err)
		}
		if i++; i == len(blocks) {
			i = 0
		}
	}
}

func BenchmarkStepLine(b *testing.B) {
	benchmarkStep(b, "G1 F1000 M4 S1", "X1.2 Y3 S500", "X2.25 Y4 S400")
}

func BenchmarkStepArc(b *testing.B) {
	benchmarkStep(b, "G1 F1000 M4 S1", "G2 X10 I5", "G3 X0 I-5")
}

func BenchmarkNextAndStep(b *testing.B) {
	text := plain(100000)
	src := bytes.NewReader(text)
	r, ip := program.NewReader(src, "t.nc"), New(DefaultConfig())
	var m Move
	b.SetBytes(int64(len(text) / 100001))
	b.ReportAllocs()
	for b.Loop() {
		block, err := r.Next()
		if err == io.EOF {
			src.Reset(text)
			r = program.NewReader(src, "t.nc")
			continue
		}
		if err := ip.Step(block, &m); err != nil {
			b.Fatal(err)
		}
	}
}

// Beyond the range of whole units sums go on as floats do.
func TestBeyondWholeUnits(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
		tol  float64
	}{
		{"G91 G0 X150000000\nX150000000", 3e8, 0},
		{"G91 G0 X-150000000\nX-150000000\nX0.125", -3e8 + 0.125, 1e-7},
		{"G91 G0 X150000000\nX150000000\nX-300000000", 0, 1e-7},
		{"G91 G0 X150000000\nX150000000\nG90 X0.1", 0.1, 0},
		{"G0 X999999999.12345678", 999999999.12345678, 0},
		{"G0 X-9999999.12345678901", -9999999.12345678901, 2e-9},
		{"G0 X-999999999.123456789", -999999999.123456789, 0},
		{"G20 G0 X-9999999.9999999999", -25.4 * 9999999.9999999999, 0},
		{"G20 G0 X9999999.99999999999", 25.4 * 9999999.99999999999, 0},
	} {
		_, st := mustRun(t, at(0, 0), c.text)
		if got := st.At.X; math.Abs(got-c.want) > c.tol {
			t.Errorf("%q: %v, want %v", c.text, got, c.want)
		}
	}
}
