package follow

import "sagitta/internal/program"

// ByBlock makes a run write the lines of runs one by one as blocks, since each is
// looked at for its length.
func ByBlock(o *Options) { o.LineMax = program.MaxPlain - 1 }

// InBlocks makes a run plan every line as a block.
func InBlocks(o *Options) { o.blocks = true }
