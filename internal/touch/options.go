package touch

import "fmt"

// Options settle what a log leaves open. The zero value lets the log speak.
type Options struct {
	// Columns names the numbers of a line in their order, a letter each: x,
	// y, z, and - for one that does not count, as in "xyz", "zxy", "-xyz-".
	Columns string
	Units   string // "mm" or "in"
	Decimal string // "point" or "comma"
	Heights string // "up" or "down"
}

// Reading is what a log was found to hold.
type Reading struct {
	Points []Point // in the order of the log
	Grid   bool    // the file is a grid, every point a node of it
	X, Y   []float64
	// Rows of a grid in the file, by index of Y.
	Missing int // nodes of a grid without a height

	Columns      string // letters as in Options, "grid" for a grid
	ColumnsFrom  string // how that is known
	Units        string
	UnitsFrom    string
	Decimal      string // "point" or "comma"
	Heights      string // "up" or "down"
	HeightsFrom  string
	ResolutionMM float64 // last decimal of the heights
	Lines        int
	Ignored      []Ignored // the first few of each reason
	IgnoredCount int
	CutOff       bool // the last line is cut off in its middle, and not used

	// What header lines say, as in package surface.
	Datum    *[2]float64 // mm
	WrapsYMM float64
	NoiseMM  float64
	Method   string
	Digest   string // SHA-256 of the bytes
}

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
	for k := range r.Ignored {
		if r.Ignored[k].Why == why {
			r.Ignored[k].Count++
			if len(r.Ignored[k].Lines) < ignoredShown {
				r.Ignored[k].Lines = append(r.Ignored[k].Lines, line)
			}
			return
		}
	}
	r.Ignored = append(r.Ignored, Ignored{why, 1, []int{line}})
}

// CheckColumns tells what is wrong with Options.Columns, nil for nothing.
func CheckColumns(columns string) error {
	if columns == "" {
		return nil
	}
	var seen [3]int
	for _, c := range columns {
		switch {
		case c >= 'x' && c <= 'z':
			seen[c-'x']++
		case c != '-':
			return fmt.Errorf("%q is not one of x, y, z and -", c)
		}
	}
	if seen != [3]int{1, 1, 1} {
		return fmt.Errorf("x, y and z are wanted once each")
	}
	if len(columns) > maxNumbers {
		return fmt.Errorf("more than %d numbers in a line are not supported", maxNumbers)
	}
	return nil
}
