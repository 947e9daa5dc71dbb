package machine

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"sagitta/internal/program"
)

// samePlain runs a program through Step alone and through StepPlain wherever
// it applies, with few lines at a time and with many, and holds every move and
// state of the one to the other. It returns how many lines StepPlain took.
func samePlain(t tester, text string, cfg Config) (plain int) {
	t.Helper()
	samePlainBy(t, text, cfg, 5)
	return samePlainBy(t, text, cfg, 37)
}

// samePlainBy is samePlain with so many lines at a time at most, fewer of them
// arcs.
func samePlainBy(t tester, text string, cfg Config, most int) (plain int) {
	t.Helper()
	fast, slow := New(cfg), New(cfg)
	rf := program.NewReader(bytes.NewReader([]byte(text)), "f")
	rs := program.NewReader(bytes.NewReader([]byte(text)), "f")
	lines, moves, arcs := make([]program.PlainLine, most), make([]PlainMove, most), make([]Turn, most-2)
	var a, b Move
	d := 0.0 // along the path
	next := func(block *program.Block) bool {
		want, err := rs.Next()
		if err != nil {
			t.Fatalf("%v", err)
		}
		errSlow := slow.Step(want, &a)
		if block == nil {
			if errSlow != nil {
				t.Fatalf("%q: Step says %v", want.Raw, errSlow)
			}
			return true
		}
		errFast := fast.Step(block, &b)
		if (errSlow == nil) != (errFast == nil) || errFast == nil && a != b {
			t.Fatalf("%q: %+v %v, want %+v %v", want.Raw, b, errFast, a, errSlow)
		}
		return errFast == nil
	}
	same := func() {
		if fast.State() != slow.State() || fast.at != slow.at || fast.offset != slow.offset || fast.stored != slow.stored || fast.moved != slow.moved || fast.workLapsed != slow.workLapsed {
			t.Fatalf("state %+v, want %+v", fast.State(), slow.State())
		}
	}
	for {
		{
			n, run, like := rf.Plain(lines, cfg.PowerWord)
			for done := 0; done < n; {
				k, turned := fast.StepPlain(lines[done:n], moves, arcs, d, 7)
				bent := 0
				for i := range moves[:k] {
					next(nil)
					m := &moves[i]
					d += a.Length
					if m.Motion > 1 {
						var c Move
						arcs[bent].Set(&c)
						bent++
						if a.Kind != Arc || c.CX != a.CX || c.CY != a.CY || c.R0 != a.R0 || c.R1 != a.R1 || c.A0 != a.A0 ||
							c.Sweep != a.Sweep || c.Length != a.Length {
							t.Fatalf("arc %+v, want %+v", c, a)
						}
						a.Kind = Line
					}
					if a.Kind != Line || a.Rapid || a.FromUnknown || a.ZUnknown || a.To.X != m.X || a.To.Y != m.Y ||
						math.Abs(m.D-d) > 1e-12*(d+math.Abs(m.X)+math.Abs(m.Y)) || m.End != lines[done+i].End+7 || m.Axis != lines[done+i].Axis || m.Style != lines[done+i].Style || a.Burn != m.Burn || a.From.Z != a.To.Z || a.Length == 0 {
						t.Fatalf("move %+v, want %+v", *m, a)
					}
				}
				if bent != turned {
					t.Fatalf("%d arcs, want %d", turned, bent)
				}
				same()
				plain += k
				if done += k; done < n {
					var block program.Block
					block.SetPlain(like, plainText(lines, run, done), done, lines[done].Style)
					if !next(&block) {
						return plain
					}
					done++
				}
			}
			if n > 0 {
				continue
			}
		}
		block, err := rf.Next()
		if errors.Is(err, io.EOF) || err != nil {
			return plain
		}
		if !next(block) {
			return plain
		}
		same()
	}
}

// plainText returns the text of line i of a run.
func plainText(lines []program.PlainLine, run []byte, i int) []byte {
	start := int32(0)
	if i > 0 {
		start = lines[i-1].End
	}
	return run[start:lines[i].End]
}

var plainPrograms = []string{
	"G21 G90 F100 M4 S0\nG1 X1 Y1\nX2 S5\nX2\nX3 S0\nY4.25 F100\nX5 F100.0\nX6 F200\nX1 Y1 S0.0\nX1\nG91\nX1\nX-1 Y2\nX0\nM5\nX3\nM3\nX4\n",
	"G20 G91 M3 S9\nG1 X1 Y1 F3\nX0.0001\nX0.00000001\nX-0.00000001\nY99999999\nY99999999\nX-99999999 Y-3\n",
	"G0 X0 Y0\nG1 X1 Y2 F100\nX3\nS0\nX4\nX5 S1\nM5\nX6 S2\nM2\nX7\n",
	"F100 M3\nG0 X0 Y0\nG1 X1 Y1\nX2\nG20\nX2\nG21\nX3\nG93\nX4 F3\nG94\nX5\n",
	"G0 X0 Y0\nF100 M3 S1\nG1 X1 Y1\nG2 X3 I1\nX1 I-1 S5\nG3 X1 Y1 J2\nG1 X5\nG3 X9 I2 J0.001\nG2 X12 I1\nX1\nG2 X3 Y1 I1\nG1 X9 Y1\nG91\nG3 X2 I1\nX0 I1\nG20\nX0.1 I0.05\nG21 F9\nX2.002 I1\nX2.9 I1\n",
	"G91 F100 M3 S1\nG1 X99999999\nX99999999\nX99999999\nX-1\n",
	"G0 X4 Y2\nM3 S5\nG1 F9\nG92 X7 Y-1\nX8\nY3\nG91\nX1 Y1\nG90\nG92.2\nX1\nG92.3\nX2\nM30\nF9\nX5\nX6\n",
	"G0 X4 Y2\nM5\nG1 F9\nX8\nG28 X0\nX7\nX6\nY1\nG28 Z0\nX1\nZ5\nX3\nG55\n",
	"G92 X1\nG91 M5\nG1 F9 X1 Y1\nX2\nG90 X1\nG92 Y0.00000000001\nX4 Y4\nY5\n",
	"G55\nG0 X1 Y1\nM5\nG1 F9\nX2\nX3\nM2\nF9\nX5\nG55\nX6\nX7\n",
	"G0 X1 Y1\nG91 F100 M3 S1\nG1 X1 Y1\n" + strings.Repeat("G3 X99990000 Y0 I49995000 J0\n", 5),
	"G0 X1 Y1\nG91 F100 M3 S1\nG1 X1 Y1\n" + strings.Repeat("G2 X0 Y-99990000 I0 J-49995000\n", 5),
	"G0 X1 Y1\nG91 F100 M3 S1\nG1 X1 Y1\nG3 X0 Y0 I1 J0\nX0.001 Y0 I0.001 J0\nX0 Y0 I1 J0\n",
	"G0 X1 Y1\nG91 F100 M3 S1\nG1 X1 Y1\n" + strings.Repeat("G3 X2 Y0 I1 J0\nG2 X0 Y1 I0 J0.5 S3\nX0 Y0 I1 J-2 F100\n", 15),
	"M106 S5\nG1 F10 X1 Y1\nX2 P0\nX3 P3\n",
}

// A plain line stepped otherwise than its block would put the path beside the
// program's.
func TestStepPlainIsStep(t *testing.T) {
	for k, text := range plainPrograms {
		if n := samePlain(t, text, DefaultConfig()); k < 4 && n == 0 {
			t.Errorf("program %d: no plain line", k)
		}
	}
}

func FuzzStepPlain(f *testing.F) {
	for _, text := range plainPrograms {
		f.Add(text, false, byte('S'))
		f.Add(text, true, byte('P'))
	}
	f.Fuzz(func(t *testing.T, text string, inches bool, power byte) {
		cfg := DefaultConfig()
		cfg.Inches = inches
		if power >= 'K' && power <= 'T' && power != 'M' && power != 'R' {
			cfg.PowerWord = power
		}
		samePlain(t, text, cfg)
	})
}
