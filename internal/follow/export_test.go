package follow

import (
	"math"
	"slices"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// LongestByBlock is the longest line in characters that may be written ByBlock.
const LongestByBlock = program.MaxPlain - 1

// ByBlock makes a run write the lines of runs one by one as blocks, since each is
// looked at for its length.
func ByBlock(o *Options) { o.LineMax = LongestByBlock }

// InBlocks makes a run plan every line as a block.
func InBlocks(o *Options) { o.blocks = true }

// WorstStretch is by how many mm Z changes more than a rate in mm/s allows, over the
// worst stretch of 20 ms and more of a program; 0 where the original asks for more.
func WorstStretch(t *rapid.T, text, original string, cfg machine.Config, rate float64) float64 {
	if slices.ContainsFunc(moves(t, original, cfg), func(m machine.Move) bool {
		return !m.Rapid && math.Abs(m.To.Z-m.From.Z) > rate*m.Seconds
	}) {
		return 0
	}
	over, _ := worstStretch(moves(t, text, cfg), rate, cfg.RapidMMMin)
	return over
}
