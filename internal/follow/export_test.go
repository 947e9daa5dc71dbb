package follow

// ByBlock makes a run write the lines of runs one by one as blocks.
func ByBlock(o *Options) { o.EachLine = true }

// InBlocks makes a run plan every line as a block.
func InBlocks(o *Options) { o.blocks = true }
