package touch

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// maxNumbers is how many numbers of a line are looked at: place, height,
// counters and flags; a line with more is no touch.
const maxNumbers = 12

// way is one way to read the log: which sign is the decimal one.
type way struct {
	comma    bool
	named    int // lines with x, y and z named, once each
	counts   [maxNumbers + 1]int
	best     int // count of plain numbers that most lines have
	usable   int
	decimals int  // least number of decimals of a last number
	pointed  bool // some number has decimals
}

// touches reads the log line by line.
func (l *log) touches() error {
	l.header()
	ways := []way{{}}
	if l.opt.Decimal == "comma" {
		ways = []way{{comma: true}}
	} else if l.opt.Decimal == "" && l.commaBetweenDigits() {
		ways = append(ways, way{comma: true})
	}
	for k := range ways {
		if k == 1 && ways[0].pointed {
			ways = ways[:1] // points are decimal signs here, so commas are not
			break
		}
		l.survey(&ways[k])
	}
	w := &ways[0]
	if len(ways) == 2 {
		a, b := &ways[0], &ways[1]
		switch {
		case b.usable > a.usable, b.usable == a.usable && b.best < a.best:
			w = b // fewer numbers explain a line better than more
		case b.usable == a.usable && b.usable > 0 && b.best == a.best:
			return l.fail(1, "the comma may part numbers or stand for the decimal point: both readings give touches",
				"say which with --decimal point or --decimal comma")
		}
	}
	if len(ways) == 2 && w == &ways[0] {
		l.survey(w) // what was noted on the way is of the last survey
	}
	l.out.Decimal = "point"
	if w.comma {
		l.out.Decimal = "comma"
	}
	if w.usable == 0 {
		return l.fail(1, fmt.Sprintf("no line with three numbers among %s with any", phrase.Count(l.rows, "line")),
			"a touch is a line with x, y and the height")
	}
	return l.take(w)
}

func (l *log) commaBetweenDigits() bool {
	b := l.text
	for k := 1; k+1 < len(b); k++ {
		if b[k] == ',' && digit(b[k-1]) && digit(b[k+1]) {
			return true
		}
	}
	return false
}

// each calls f with every line that is no comment; last tells that the line
// has no end.
func (l *log) each(f func(line int, b []byte, last bool)) {
	n := 0
	for text := range bytes.Lines(l.text) {
		n++
		b := bytes.TrimRight(text, "\r\n")
		if len(b) > maxLineBytes || len(b) > 0 && b[0] == '#' {
			continue
		}
		f(n, b, len(b) == len(text))
	}
	l.out.Lines = n
}

// survey counts what lines hold under one way.
func (l *log) survey(w *way) {
	*w = way{comma: w.comma}
	l.scan = scanner{comma: w.comma}
	l.names = nil
	l.rows = 0
	w.decimals = math.MaxInt
	first := true
	l.each(func(n int, b []byte, last bool) {
		l.scan.line(b)
		if len(l.scan.tokens) == 0 {
			if first {
				if names, sep := nameRow(b, n); names != nil && l.opt.Columns == "" {
					l.names = names
					l.scan.sep = sep
				}
			}
			return
		}
		first = false
		l.rows++
		plain, named, ok := l.shape()
		for k := range l.scan.tokens {
			w.pointed = w.pointed || l.scan.tokens[k].dec > 0 && l.scan.tokens[k].label != '?'
		}
		if named {
			w.named++
		}
		if ok {
			w.counts[plain]++
		}
		if !last {
			w.decimals = min(w.decimals, l.scan.tokens[len(l.scan.tokens)-1].dec)
		}
	})
	want := 3
	if l.opt.Columns != "" {
		want = len(l.opt.Columns)
	}
	for k := want; k < len(w.counts) && (l.opt.Columns == "" || k == want); k++ {
		if w.counts[k] > w.counts[w.best] || w.best == 0 && w.counts[k] > 0 {
			w.best = k
		}
	}
	w.usable = 0
	if w.best > 0 {
		w.usable = w.counts[w.best]
	}
	if l.opt.Columns == "" && l.names == nil && w.named > 0 && w.named >= w.usable {
		w.usable, w.best = w.named, 0
	}
}

// shape counts the plain numbers of the line, and reports whether x, y and z
// are named in it.
func (l *log) shape() (plain int, named, ok bool) {
	var seen [3]int
	for k := range l.scan.tokens {
		switch t := &l.scan.tokens[k]; t.label {
		case '?':
		case 0:
			plain++
		default:
			plain++
			seen[t.label-'x']++
		}
	}
	return plain, seen == [3]int{1, 1, 1}, plain <= maxNumbers
}

// take reads the touches.
func (l *log) take(w *way) error {
	r := l.out
	var cols [maxNumbers][]float64
	var flags [maxNumbers]bool
	for k := range flags {
		flags[k] = true
	}
	var lines []int
	var mm, inch, down bool
	width := w.best
	byName := l.names != nil
	byLabel := !byName && w.best == 0
	l.scan.comma = w.comma
	if byName || byLabel {
		width = 3
	}
	l.each(func(n int, b []byte, last bool) {
		s := &l.scan
		s.line(b)
		mm, inch = mm || s.sawMM, inch || s.sawInch
		if len(s.tokens) == 0 {
			if len(bytes.TrimSpace(b)) > 0 && !(l.names != nil && n == l.names.line) {
				r.ignore(n, "no number")
			}
			return
		}
		row, why := l.row(w, byName, byLabel)
		if last && (why != "" || s.tokens[len(s.tokens)-1].dec < w.decimals && w.decimals < math.MaxInt && len(lines) > 0) {
			r.CutOff = true
			r.ignore(n, "cut off in its middle: it has no line end")
			return
		}
		if why != "" {
			r.ignore(n, why)
			return
		}
		for k := range width {
			t := row[k]
			cols[k] = append(cols[k], t.v)
			flags[k] = flags[k] && t.flag
			mm, inch = mm || t.unit == 'm', inch || t.unit == 'i'
		}
		down = down || s.sawDown
		lines = append(lines, n)
	})
	if len(lines) == 0 {
		return l.fail(1, "no line holds a whole touch: x, y and a height", "")
	}
	if err := l.units(mm, inch); err != nil {
		return err
	}
	if err := l.direction(down); err != nil {
		return err
	}
	var order [3]int // columns of x, y and z
	switch {
	case byName:
		order = [3]int{0, 1, 2}
		r.Columns, r.ColumnsFrom = string(l.names.axis), "the row of names"
	case byLabel:
		order = [3]int{0, 1, 2}
		r.Columns, r.ColumnsFrom = "xyz", "the letters before the numbers"
	case l.opt.Columns != "":
		for k, c := range l.opt.Columns {
			if c >= 'x' && c <= 'z' {
				order[c-'x'] = k
			}
		}
		r.Columns, r.ColumnsFrom = l.opt.Columns, "given"
	default:
		var err *diag.Error
		if order, lines, err = l.order(cols[:width], flags[:width], lines); err != nil {
			return err
		}
	}
	return l.points(cols[:], order, lines)
}

// row picks the numbers of a line that count, or says why there are none.
func (l *log) row(w *way, byName, byLabel bool) (row [maxNumbers]*token, why string) {
	s := &l.scan
	if byName {
		for k := range s.tokens {
			t := &s.tokens[k]
			at := t.field
			if s.sep == ' ' {
				at = k
			}
			if at < len(l.names.axis) && l.names.axis[at] != '-' {
				i := l.names.axis[at] - 'x'
				if row[i] != nil {
					return row, "two numbers in one field"
				}
				row[i] = t
			}
		}
		switch {
		case row[2] == nil && row[0] != nil && row[1] != nil:
			return row, "the height is blank"
		case row[0] == nil || row[1] == nil || row[2] == nil:
			return row, "a place without x and y"
		}
		return row, ""
	}
	if byLabel {
		for k := range s.tokens {
			if c := s.tokens[k].label; c >= 'x' && c <= 'z' {
				if row[c-'x'] != nil {
					return row, "an axis is named twice"
				}
				row[c-'x'] = &s.tokens[k]
			}
		}
		if row[0] == nil || row[1] == nil || row[2] == nil {
			return row, "x, y and z are not all there"
		}
		return row, ""
	}
	n := 0
	for k := range s.tokens {
		if s.tokens[k].label == '?' {
			continue
		}
		if n < maxNumbers {
			row[n] = &s.tokens[k]
		}
		n++
	}
	if n != w.best {
		return row, fmt.Sprintf("%s, the others have %d", phrase.Count(n, "number"), w.best)
	}
	return row, ""
}

func (l *log) units(mm, inch bool) error {
	said := l.headUnits
	if l.names != nil {
		mm, inch = mm || l.names.mm, inch || l.names.inch
	}
	if said == "" && l.opt.Units == "" {
		switch {
		case mm && inch:
			return l.fail(1, "both millimetres and inches are named", "say which with --units mm or --units in")
		case mm:
			said = "mm"
		case inch:
			said = "in"
		}
	}
	l.out.Units, l.out.UnitsFrom = settle(l.opt.Units, said, "mm")
	return nil
}

func (l *log) direction(down bool) error {
	said := l.headUp
	if said == "" && (down || l.names != nil && l.names.down) {
		said = "down"
	}
	l.out.Heights, l.out.HeightsFrom = settle(l.opt.Heights, said, "up")
	return nil
}

// points turns columns into touches in mm, up positive.
func (l *log) points(cols [][]float64, order [3]int, lines []int) error {
	r := l.out
	scale, sign := 1.0, 1.0
	if r.Units == "in" {
		scale = mmPerInch
	}
	if r.Heights == "down" {
		sign = -1
	}
	if d := r.Datum; d != nil {
		d[0], d[1] = d[0]*scale, d[1]*scale
	}
	r.Points = make([]Point, 0, len(lines))
	for k, n := range lines {
		p := Point{cols[order[0]][k] * scale, cols[order[1]][k] * scale, cols[order[2]][k] * scale * sign, n}
		if !(math.Abs(p.X) <= surface.MaxCoordMM && math.Abs(p.Y) <= surface.MaxCoordMM && math.Abs(p.Z) <= surface.MaxHeightMM) {
			return l.fail(n, fmt.Sprintf("a number is beyond any bench (%g mm, heights %g mm)", surface.MaxCoordMM, surface.MaxHeightMM), "")
		}
		if p.Z == 0 {
			p.Z = 0 // no negative zero
		}
		r.Points = append(r.Points, p)
	}
	r.ResolutionMM = resolution(r.Points, scale)
	r.Columns = strings.ToLower(r.Columns)
	return nil
}
