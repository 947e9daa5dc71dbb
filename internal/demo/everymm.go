package demo

import (
	"bytes"
	"fmt"
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// decimals of X, Y and Z in mm, as the chart has them.
const decimals = 3

// EveryMM gives the chart as it is followed without any thought: each burn is
// cut every step mm, or a little sooner so that its pieces are alike, and the
// focus axis goes to the height of the surface at the end of every move.
// height gives it in mm at a place in program XY in mm. Feeds stay as they
// are, and pieces of arcs are arcs.
//
// The error says where there is no height.
func EveryMM(height func(x, y float64) float64, step float64) (cut []byte, f rewrite.Figures, err error) {
	cfg := machine.DefaultConfig()
	cfg.FeedCountsZ = false
	opt := rewrite.Options{Bench: bench.Bench{Machine: cfg, ZPlusAway: true, DecimalsMM: decimals}}
	var out bytes.Buffer
	pen := rewrite.New(&out, &opt)
	source := stream.New(bytes.NewReader(Program()), stream.Options{Machine: cfg, Blocks: true})
	plan := rewrite.Target{}
	err = source.Each(func(it *stream.Item) error {
		defer source.Done(it)
		plan.Corners = plan.Corners[:0]
		if it.Moves() {
			n := pieces(&it.Move, step)
			for k := 1.0; k <= n; k++ {
				at := it.Move.XY(k / n)
				if plan.C = height(at[0], at[1]); math.IsNaN(plan.C) {
					return fmt.Errorf("%v: no height at X%.3f Y%.3f", it.Block.Place(it.Block.Words[0].Start), at[0], at[1])
				}
				if k < n {
					plan.Corners = append(plan.Corners, rewrite.Corner{S: k / n, C: plan.C})
				}
			}
		}
		pen.Pass(it, plan)
		return pen.Err()
	})
	if err == nil {
		err = pen.Finish()
	}
	return out.Bytes(), pen.Figures, err
}

// pieces gives into how many pieces a move is cut.
func pieces(m *machine.Move, step float64) float64 {
	// A length that is a whole number of steps but for roundoff makes no
	// piece more.
	const slack = 1e-9
	if !m.Burn {
		return 1
	}
	return max(math.Ceil(m.Length/step-slack), 1)
}
