package machine

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/program"
)

// genArcs draws a program of many arcs in a row, full circles among them, and of
// whatever may end such a row: other lines, other words, arcs at the tolerance of
// their radii and beyond it, numbers of other decimals, far places.
func genArcs(t *rapid.T) string {
	head := rapid.SampledFrom([]string{"G21", "G20", "G92 X3 Y-2", "G92 Y-0.00000000001"}).Draw(t, "head")
	tail := rapid.SampledFrom([]string{"", " F100", " S0", " S2 F100"}).Draw(t, "tail")
	lines := rapid.IntRange(1, 100).Draw(t, "lines")
	rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	text := []byte("G0 X1 Y2\n" + head + "\nF100 M4 S1\nG1 X2 Y2\n")
	x, y, straight, relative := 2000, 2000, true, false
	for range lines {
		i, j := max(-2000, rnd.IntN(6000)-3000), max(0, rnd.IntN(6000)-3000)
		if rnd.IntN(9) == 0 {
			i = 0
		}
		if i == 0 && j == 0 {
			j = 1500
		}
		endX, endY := -i, -j // from the centre
		for range rnd.IntN(4) {
			endX, endY = -endY, endX
		}
		dx, dy := i+endX, j+endY
		word, more := []string{"", "G2 ", "G3 "}[rnd.IntN(3)], tail
		if straight && word == "" {
			word = "G3 "
		}
		straight = false
		decimals := func(ticks int) string { return mm(int64(ticks)) }
		if rnd.IntN(8) == 0 {
			more = ""
		}
		switch rnd.IntN(200) {
		case 0:
			text = append(text, "G1 X0 Y0\n"...)
			if straight = true; !relative {
				x, y = 0, 0
			}
			continue
		case 1:
			more = " S" + []string{"0", "5"}[rnd.IntN(2)]
		case 2:
			more = " F200"
		case 3:
			relative = !relative
			text = append(text, map[bool]string{true: "G91\n", false: "G90\n"}[relative]...)
		case 4:
			dx++
		case 5:
			dx, dy = dx-2, dy+1
		case 6:
			decimals = func(ticks int) string { return fmt.Sprintf("%.6f", float64(ticks)/1000) }
		case 7:
			decimals = func(ticks int) string { return mm(int64(ticks)) + []string{"", "00000001"}[rnd.IntN(2)] }
		case 8:
			i, j = 0, 0
		case 9:
			i += 99990000000
		case 10:
			dx += 99990000000
		case 11:
			text = fmt.Appendf(text, "%sX%s Y%s I1\n", word, mm(int64(x)), mm(int64(y)))
		case 12:
			text, word = append(text, "G90 G1 X0 Y0\n"...), "" // an arc in a straight motion
			x, y, relative = 0, 0, false
		}
		toX, toY := x+dx, y+dy
		if relative {
			toX, toY = dx, dy
		}
		text = fmt.Appendf(text, "%sX%s Y%s I%s J%s%s\n", word, decimals(toX), decimals(toY), decimals(i), decimals(j), more)
		x, y = x+dx, y+dy
	}
	return string(text)
}

// Arcs of plain lines are those that Step makes of each, whatever stands between
// them.
func TestPlainArcsAreStep(t *testing.T) {
	taken, total := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text := genArcs(t)
		total += bytes.Count([]byte(text), []byte(" J"))
		taken += samePlain(t, text, DefaultConfig())
	})
	if taken < total/4 {
		t.Errorf("of %d arcs only %d were plain", total, taken)
	}
}

// plainLines returns the plain lines at the end of a program, and the interpreter
// before them.
func plainLines(t tester, text []byte) (lines []program.PlainLine, ip *Interpreter) {
	r := program.NewReader(bytes.NewReader(text), "t.nc")
	ip = New(DefaultConfig())
	some := make([]program.PlainLine, 1024)
	for {
		if n, _, _ := r.Plain(some, 'S'); n > 0 {
			lines = append(lines, some[:n]...)
			continue
		}
		block, err := r.Next()
		if err != nil {
			return lines, ip
		}
		var m Move
		if err := ip.Step(block, &m); err != nil {
			t.Fatalf("%v", err)
		}
	}
}

// arcsText is a program of arcs as drawings have them: small, in all
// directions, each from the end of the last one.
func arcsText(n int) []byte {
	rnd := rand.New(rand.NewPCG(3, 5))
	round := func(v float64) float64 { return math.Round(v*1000) / 1000 }
	text := []byte("G21 G90 M4 S1 F1000\nG0 X100 Y100\nG1\n")
	x, y := 100.0, 100.0
	for range n {
		r, a, turn := 0.3+2.7*rnd.Float64(), 2*math.Pi*rnd.Float64(), 0.2+2.8*rnd.Float64()
		g := 3
		if rnd.IntN(2) == 0 {
			g, turn = 2, -turn
		}
		i, j := round(r*math.Cos(a)), round(r*math.Sin(a))
		sin, cos := math.Sincos(turn)
		x, y = round(x+i-i*cos+j*sin), round(y+j-i*sin-j*cos)
		text = fmt.Appendf(text, "G%d X%.3f Y%.3f I%.3f J%.3f\n", g, x, y, i, j)
	}
	return text
}

// BenchmarkStepPlain prints what a plain line costs the interpreter, of more
// of them than a processor learns by heart.
func BenchmarkStepPlain(b *testing.B) {
	const n = 20000
	b.Run("arcs", func(b *testing.B) { benchmarkPlain(b, arcsText(n)) })
}

func benchmarkPlain(b *testing.B, text []byte) {
	lines, start := plainLines(b, text)
	moves, arcs := make([]PlainMove, 512), make([]Turn, 512)
	b.ReportAllocs()
	for b.Loop() {
		ip := *start
		for done := 0; done < len(lines); {
			n, _ := ip.StepPlain(lines[done:], moves, arcs, 0, 0)
			if n == 0 {
				b.Fatalf("line %d of %d", done, len(lines))
			}
			done += n
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(lines)), "ns/line")
}
