package page

import "sagitta/internal/report/trace"

// Page is what is on it. Texts are plain; lengths are in mm.
type Page struct {
	// Job names the program or the folder of zones.
	Job     string
	Verdict Verdict
	// Setting says where and how the focus is set, a step each, and Known what there is to
	// know of it.
	Setting, Known []string
	// Sheet is the bench sheet, page by page; NoSheet says why there is none.
	Sheet   []string
	NoSheet string
	// SheetPages is how many pages the sheet has, of which Sheet may be the first.
	SheetPages int
	Caution    string
	// Assumed is what nobody said, and Notes what else the check has to tell.
	Assumed, Notes []string
	// Above are the pictures of the job as seen from above, of which one is looked at.
	Above []Picture
	// Path is the fixed picture of the path; the others come behind it.
	Path   *Picture
	Others []Picture
	Trace  *trace.Trace
	// Height gives the height of the surface over the datum at a place, in program XY, and
	// reports whether there is one. It may be nil where there is no trace.
	Height func(x, y float64) (mm float64, there bool)
	// ZSpeed is the greatest speed of Z of the bench, and ZStep the greatest step of it that it
	// takes at once, in mm/s; 0 where that is not known.
	ZSpeed, ZStep float64
	// BurnRules are sentences about burns that are to have a focus of their own.
	BurnRules []string
	// Files are what was read, Options what was in force, and Command is what makes the
	// page again.
	Files, Options [][2]string
	Command        string
	Maker          string
	// Figures is the JSON of the run.
	Figures []byte
}

// Verdict is what the check found.
type Verdict struct {
	Holds bool
	// Text is one sentence.
	Text string
	// Unchecked names what the check did not look at.
	Unchecked []string
	// Failures are the first of Count, a line each, and Hints what may mend them. More are
	// those that are not among them, nor like one of them.
	Failures, Hints []string
	Count, More     int
}

// Look is how a verdict is shown: one of three, told apart by word and by shape.
func (v Verdict) Look() string {
	switch {
	case !v.Holds:
		return "fails"
	case len(v.Unchecked) > 0:
		return "in-part"
	}
	return "holds"
}

// State is "holds" or "fails".
func (v Verdict) State() string {
	if v.Holds {
		return "holds"
	}
	return "fails"
}

// Word is the verdict in a word or two.
func (v Verdict) Word() string {
	return map[string]string{"holds": "Holds", "in-part": "Holds, but not all was checked", "fails": "Does not hold"}[v.Look()]
}

// Picture is a drawing with the figures behind it.
type Picture struct {
	// ID is a word of its own on the page, Title its heading, Switch what it is called
	// among several, and Alt what it shows, in a sentence or two.
	ID, Title, Switch, Alt string
	// Wide and Narrow are SVG as it stands in a page, for a wide place and for a
	// narrow one. They are trusted.
	Wide, Narrow string
	Table        Table
}

// Table has a heading for each column; right-aligned columns are of figures.
type Table struct {
	Head  []string
	Right []bool
	Rows  [][]string
	// More says what is left out, "" where nothing is.
	More string
}

// IsRight reports whether a column is of figures.
func (t Table) IsRight(column int) bool { return column < len(t.Right) && t.Right[column] }

// HasPath reports whether there is a path to show.
func (p *Page) HasPath() bool { return p.Trace != nil && len(p.Trace.Stretches) > 0 }

// HasOriginal reports whether the path was compared with that of an original.
func (p *Page) HasOriginal() bool { return p.Trace != nil && p.Trace.SecondsBefore > 0 }
