package touch

import (
	"fmt"
	"slices"
	"strings"

	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// Options settle what a log leaves open. The zero value lets the log speak.
type Options struct {
	// Columns names the numbers of a line in their order, a letter each: x,
	// y, z, and - for one that does not count, as in "xyz", "zxy", "-xyz-".
	Columns string
	Units   string // one of file.Units
	Decimal string // "point" or "comma"
	Heights string // "up" or "down"
}

// Reading is what a log was found to hold.
type Reading struct {
	Points []surface.Point // in the order of the log
	// Grid is the file where it is a grid, whose heights are the points; else nil.
	Grid *surface.Surface

	Columns      string // letters as in Options, "grid" for a grid
	ColumnsFrom  string // how that is known
	Decimal      string // "point" or "comma"
	file.Said           // units, and which way heights count
	UnitsFrom    string
	HeightsFrom  string
	ResolutionMM float64 // last decimal of the heights
	Lines        int
	Ignored      []Ignored // the first few of each reason
	IgnoredCount int

	Header surface.Header // datum, noise, method and wrapping, where header lines say them
	Digest string         // SHA-256 of the bytes

	// Parts are the files that it was joined of; nil where it is of one.
	Parts []Part
}

// ByNames is how columns are known of a table that names them, as sheets that are filled in
// by hand do.
const ByNames = "the row of names"

// Ignored are lines that gave no point, for one reason.
type Ignored struct {
	Why   string
	Count int
	Lines []int // the first few
}

// ignoredShown is how many lines of a reason are kept: enough to look one up.
const ignoredShown = 3

func (r *Reading) ignore(line int, why string) {
	r.IgnoredCount++
	k := slices.IndexFunc(r.Ignored, func(i Ignored) bool { return i.Why == why })
	if k < 0 {
		k = len(r.Ignored)
		r.Ignored = append(r.Ignored, Ignored{Why: why})
	}
	i := &r.Ignored[k]
	i.Count++
	if len(i.Lines) < ignoredShown {
		i.Lines = append(i.Lines, line)
	}
}

// CheckColumns tells what is wrong with Options.Columns, nil for nothing.
func CheckColumns(columns string) error {
	if columns == "" {
		return nil
	}
	if k := strings.IndexFunc(columns, func(c rune) bool { return !strings.ContainsRune("xyz-", c) }); k >= 0 {
		return fmt.Errorf("%q is not one of x, y, z and -", []rune(columns[k:])[0])
	}
	if !eachOnce(columns) {
		return fmt.Errorf("x, y and z are wanted once each")
	}
	if len(columns) > maxNumbers {
		return fmt.Errorf("more than %d numbers in a line are not supported", maxNumbers)
	}
	return nil
}
