package touch

import (
	"bytes"
	"fmt"
	"iter"
	"math"
	"regexp"
	"slices"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// maxNumbers is how many numbers of a line are looked at: place, height,
// counters and flags; a line with more is no touch.
const maxNumbers = 12

const (
	blankHeight = "the height is blank"
	// StillBlank is what to do about a sheet without heights.
	StillBlank = "the heights of this sheet are still blank: fill them in, and make a surface of it with sagitta surface"
)

// layout is one way to read the log: which sign is the decimal one, and what that
// leads to.
type layout struct {
	tokenizer
	names    names // the row of names
	labelled bool  // x, y and z are named in each line
	rows     int   // lines with at least one number
	best     int   // count of plain numbers that most lines have, 0 where labelled
	usable   int   // lines that hold a touch
	decimals int   // least number of decimals of a last number
	pointed  bool  // some number has decimals
}

// touches reads the log line by line.
func (l *log) touches() error {
	w := l.survey(l.opt.Decimal == "comma")
	found, err := l.decimalCommas(w)
	if err != nil {
		return err
	}
	if found {
		w = l.survey(false)
	}
	// Where points are decimal signs commas are not.
	if !found && l.opt.Decimal == "" && !w.pointed && commaBetweenDigits.Match(l.text) {
		b := l.survey(true)
		switch {
		case b.usable > w.usable, b.usable == w.usable && b.best < w.best:
			w = b // fewer numbers explain a line better than more
		case b.usable == w.usable && b.usable > 0 && b.best == w.best:
			return l.fail(1, "the comma may part numbers or stand for the decimal point: both readings give touches",
				"say which with --decimal point or --decimal comma")
		}
	}
	l.out.Decimal = "point"
	if w.comma || found {
		l.out.Decimal = "comma"
	}
	if w.usable == 0 {
		return l.fail(1, fmt.Sprintf("no line with three numbers among %s with any", phrase.Count(w.rows, "line")),
			"a touch is a line with x, y and the height")
	}
	return l.take(w)
}

var commaBetweenDigits = regexp.MustCompile(`\d,\d`)

// lines gives every line that is no comment, by its number and without its end.
func (l *log) lines() iter.Seq2[int, []byte] {
	return func(yield func(int, []byte) bool) {
		n := 0
		for text := range bytes.Lines(l.text) {
			n++
			text = bytes.TrimRight(text, "\r\n")
			if len(text) > maxLineBytes || len(text) > 0 && text[0] == '#' {
				continue
			}
			if !yield(n, text) {
				return
			}
		}
	}
}

// open reports whether a line is the last and has no end.
func (l *log) open(line int) bool {
	return line == l.out.Lines && !bytes.HasSuffix(l.text, []byte("\n")) && !bytes.HasSuffix(l.text, []byte("\r"))
}

// survey counts what lines hold under one decimal sign.
func (l *log) survey(comma bool) *layout {
	w := &layout{tokenizer: tokenizer{comma: comma}, decimals: math.MaxInt}
	var counts [maxNumbers + 1]int // lines by plain numbers
	labelled := 0                  // lines with x, y and z named, once each
	for n, text := range l.lines() {
		w.line(text)
		if len(w.tokens) == 0 {
			if w.rows == 0 && l.opt.Columns == "" {
				if names, ok := namesOf(text, n); ok {
					w.names, w.sep = names, names.sep
				}
			}
			continue
		}
		w.rows++
		plain := 0
		var labels []byte
		for _, t := range w.tokens {
			if t.label != '?' {
				plain++
				labels = append(labels, t.label)
				w.pointed = w.pointed || t.dec > 0
			}
		}
		if eachOnce(string(labels)) {
			labelled++
		}
		if plain <= maxNumbers {
			counts[plain]++
		}
		if !l.open(n) {
			w.decimals = min(w.decimals, w.tokens[len(w.tokens)-1].dec)
		}
	}
	least, most := 3, maxNumbers
	if l.opt.Columns != "" {
		least, most = len(l.opt.Columns), len(l.opt.Columns)
	}
	for k := least; k <= most; k++ {
		if counts[k] > w.usable {
			w.best, w.usable = k, counts[k]
		}
	}
	if l.opt.Columns == "" && w.names.axis == nil && labelled > 0 && labelled >= w.usable {
		w.usable, w.best, w.labelled = labelled, 0, true
	}
	return w
}

// take reads the touches.
func (l *log) take(w *layout) error {
	r := l.out
	var cols [maxNumbers][]float64
	var plain [maxNumbers]bool // they hold more than flags
	var lines []int
	said := w.names // of units and direction
	for n, text := range l.lines() {
		w.line(text)
		said.mm, said.inch = said.mm || w.sawMM, said.inch || w.sawInch
		if len(w.tokens) == 0 {
			if len(bytes.TrimSpace(text)) > 0 && n != said.line {
				r.ignore(n, "no number")
			}
			continue
		}
		row, why := w.row()
		last := w.tokens[len(w.tokens)-1]
		if l.open(n) && (why != "" || last.dec < w.decimals && w.decimals < math.MaxInt && len(lines) > 0) {
			why = "cut off in its middle: it has no line end"
		}
		if why != "" {
			r.ignore(n, why)
			continue
		}
		for k, t := range row {
			if t != nil {
				cols[k] = append(cols[k], t.v)
				plain[k] = plain[k] || !t.flag
				said.mm, said.inch = said.mm || t.unit == 'm', said.inch || t.unit == 'i'
			}
		}
		said.down = said.down || w.sawDown
		lines = append(lines, n)
	}
	if len(lines) == 0 {
		hint := ""
		if slices.ContainsFunc(r.Ignored, func(i Ignored) bool { return i.Why == blankHeight }) {
			hint = StillBlank
		}
		return l.fail(1, "no line holds a whole touch: x, y and a height", hint)
	}
	if err := l.units(said); err != nil {
		return err
	}
	switch {
	case w.names.axis != nil:
		r.Columns, r.ColumnsFrom = string(w.names.axis), ByNames
	case w.labelled:
		r.Columns, r.ColumnsFrom = "xyz", "the letters before the numbers"
	case l.opt.Columns != "":
		r.Columns, r.ColumnsFrom = l.opt.Columns, "given"
	default:
		var err error
		if r.Columns, lines, err = l.order(cols[:w.best], !plain[w.best-1], lines); err != nil {
			return err
		}
		r.ColumnsFrom = "by their spread and places"
	}
	if w.named() {
		return l.points(cols[0], cols[1], cols[2], lines)
	}
	column := func(axis byte) []float64 { return cols[strings.IndexByte(r.Columns, axis)] }
	return l.points(column('x'), column('y'), column('z'), lines)
}

// named reports whether something names the numbers of a line.
func (w *layout) named() bool { return w.names.axis != nil || w.labelled }

// row picks the numbers of a line that count, or says why there are none. Where
// something names them they come in the order x, y, z.
func (w *layout) row() (row [maxNumbers]*token, why string) {
	named, n := w.named(), 0
	for k := range w.tokens {
		t := &w.tokens[k]
		at := n
		if named {
			at = int(w.axisOf(k)) - 'x'
		} else if t.label == '?' {
			at = -1
		}
		if at < 0 {
			continue
		}
		n++
		switch {
		case at >= maxNumbers:
		case row[at] == nil:
			row[at] = t
		case w.labelled:
			return row, "an axis is named twice"
		default:
			return row, "two numbers in one field"
		}
	}
	whole := row[0] != nil && row[1] != nil && row[2] != nil
	switch {
	case !named && n != w.best:
		why = fmt.Sprintf("%s, the others have %d", phrase.Count(n, "number"), w.best)
	case w.labelled && !whole:
		why = "x, y and z are not all there"
	case named && row[0] != nil && row[1] != nil && !whole:
		why = blankHeight
	case named && !whole:
		why = "a place without x and y"
	}
	return row, why
}

// axisOf is the axis that number k of the line is named as, less than x for none.
func (w *layout) axisOf(k int) byte {
	t := &w.tokens[k]
	if w.labelled {
		return t.label
	}
	at := t.field
	if w.sep == ' ' {
		at = k
	}
	if at >= len(w.names.axis) {
		return 0
	}
	return w.names.axis[at]
}

// units settles units and direction, by what stands over the columns and beside
// the numbers.
func (l *log) units(said names) error {
	units, heights := l.header.Said.Units, l.header.Said.Heights
	if units == "" && l.opt.Units == "" {
		named, each := file.UnitsOf(said.unit)
		switch {
		case said.mm && said.inch && each && named != "":
			units = named
		case said.mm && said.inch:
			return l.fail(1, "both millimetres and inches are named",
				"say which with --units mm or --units in; or, where only heights are in inches, with --units mm,mm,in")
		case said.mm:
			units = "mm"
		case said.inch:
			units = "in"
		}
	}
	if heights == "" && said.down {
		heights = "down"
	}
	l.out.Units, l.out.UnitsFrom = settle(l.opt.Units, units, "mm")
	l.out.Heights, l.out.HeightsFrom = settle(l.opt.Heights, heights, "up")
	return nil
}

// points turns columns into touches in mm, up positive.
func (l *log) points(x, y, z []float64, lines []int) error {
	r := l.out
	scale, high := r.UnitMM(), r.HeightMM()
	if d := r.Header.Datum; d != nil {
		d[0], d[1] = d[0]*scale, d[1]*scale
	}
	r.Points = make([]surface.Point, 0, len(lines))
	for k, n := range lines {
		p := surface.Point{X: x[k] * scale, Y: y[k] * scale, Z: r.Up(z[k]*high) + 0, Line: n} // + 0: no negative zero
		if !(math.Abs(p.X) <= surface.MaxCoordMM && math.Abs(p.Y) <= surface.MaxCoordMM && math.Abs(p.Z) <= surface.MaxHeightMM) {
			return l.fail(n, fmt.Sprintf("a number is beyond any bench (%g mm, heights %g mm)", surface.MaxCoordMM, surface.MaxHeightMM), "")
		}
		r.Points = append(r.Points, p)
	}
	r.ResolutionMM = resolution(r.Points, high)
	return nil
}
