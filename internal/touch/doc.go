// Package touch reads what machines and people write down when they touch
// a surface: any text with three numbers in a line, with prefixes, brackets,
// units or other words around them, a filled-in CSV, decimal commas, columns
// in another order, inches, readings that count down; and grids. It says how
// it read the file, and refuses where two readings are equally good.
//
// It also tidies the touches as a log: repeated places are averaged with
// their spread as the noise of the probe, and the drift between the first
// and the last touch of the datum is taken out. Finding bad touches needs a
// fit and is not done here. The package knows nothing of G-code.
package touch

// Limits of what is taken as a log.
const (
	// maxLogBytes bounds the memory that a log can ask for: some five
	// million touches, a hundred times a long night's probing.
	maxLogBytes = 256 << 20
	// maxLineBytes is far beyond any line that three numbers stand in.
	maxLineBytes = 1 << 20
)
