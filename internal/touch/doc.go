// Package touch reads what machines and people write down when they touch
// a surface: any text with three numbers in a line, whatever stands around them
// and in whatever order, units and decimal signs; and grids. It says how it read
// the file, and refuses where two readings are equally good. Places touched again
// are averaged, and drift is taken out. It knows neither fits nor G-code.
package touch

// Limits of what is taken as a log.
const (
	// maxLogBytes bounds the memory that a log can ask for: some five
	// million touches, a hundred times a long night's probing.
	maxLogBytes = 256 << 20
	// maxLineBytes is far beyond any line that three numbers stand in.
	maxLineBytes = 1 << 20
)
