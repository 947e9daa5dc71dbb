package follow_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// What of a program is out of reach the most is told with its line, whether its lines
// are read one by one or in runs.
func TestBeyondInRuns(t *testing.T) {
	beyond := 0
	rapid.Check(t, func(t *rapid.T) {
		text := "G21 G90 G0 X1 Y1\nM4 S500\nG1 F1200\n"
		x, y := 1.0, 1.0
		for range rapid.IntRange(1, 60).Draw(t, "lines") {
			if rapid.IntRange(0, 3).Draw(t, "axis") == 0 {
				y += rapid.SampledFrom([]float64{0.2, -0.1, 0.7}).Draw(t, "dy")
				text += fmt.Sprintf("Y%.3f\n", y)
				continue
			}
			x += rapid.SampledFrom([]float64{0.2, 0.2, -0.1, 7}).Draw(t, "dx")
			text += fmt.Sprintf("X%.3f S%d\n", x, rapid.SampledFrom([]int{0, 300, 400}).Draw(t, "power"))
		}
		reach := machine.Reach{X: &[2]float64{0, rapid.Float64Range(1, 40).Draw(t, "bed")}, Y: &[2]float64{0, 5}}
		worst := func(blocks bool) (line int, most float64) {
			err := stream.Scan(strings.NewReader(text), stream.Options{Machine: machine.DefaultConfig(), Tolerance: 0.01, Blocks: blocks}, func(it *stream.Item) {
				if f := follow.Beyond(it, reach); f != nil && f.Amount > most {
					line, most = f.Line, f.Amount
				}
			})
			if err != nil {
				t.Fatal(err)
			}
			return line, most
		}
		line, by := worst(true)
		if l, b := worst(false); l != line || b-by > 1e-9 || by-b > 1e-9 {
			t.Fatalf("line %d by %g mm in runs, line %d by %g mm one by one\n%s", l, b, line, by, text)
		}
		if by > 0 {
			beyond++
		}
	})
	if beyond == 0 {
		t.Error("nothing was ever out of reach")
	}
}
