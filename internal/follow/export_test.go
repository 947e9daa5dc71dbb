package follow

import "sagitta/internal/program"

// LongestByBlock is the longest line in characters that may be written ByBlock.
const LongestByBlock = program.MaxPlain - 1

// ByBlock makes a run write the lines of runs one by one as blocks, since each is
// looked at for its length.
func ByBlock(o *Options) { o.LineMax = LongestByBlock }

// InBlocks makes a run plan every line as a block.
func InBlocks(o *Options) { o.blocks = true }
