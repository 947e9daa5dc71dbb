package touch

import (
	"bytes"

	"sagitta/internal/table"
)

// downNames are names of readings that grow away from the lens.
var downNames = map[string]bool{"gap": true, "down": true, "depth": true, "distance": true}

// nameOf gives the axis that a column's name or a word before a number means,
// 0 for none. Words are those that people write over such columns.
func nameOf(word []byte) byte {
	w := lowerString(word)
	switch w {
	case "x", "y", "z":
		return w[0]
	case "height", "heights", "reading", "gauge", "dial", "gap", "depth", "distance", "down":
		return 'z'
	}
	if len(w) > 2 && w[1] == '_' && (w[0] == 'x' || w[0] == 'y' || w[0] == 'z') {
		return w[0]
	}
	return 0
}

// names is a row of column names.
type names struct {
	line int
	axis []byte // of each field: x, y, z or '-'
	down bool
	inch bool
	mm   bool
}

// nameRow reads a row without numbers as names of columns, x, y and z once each;
// nil where it is none. It also tells what separates the fields.
func nameRow(b []byte, line int) (*names, byte) {
	row := table.RowOf(b)
	n := &names{line: line}
	var seen [3]int
	for k := range row.Len() {
		axis := byte('-')
		// An underscore parts a name from its unit.
		for _, w := range bytes.FieldsFunc(row.Text(k), func(r rune) bool { return r == '_' || r < 0x80 && !letter(byte(r)) }) {
			if a := nameOf(w); a != 0 && axis == '-' {
				axis = a
				n.down = n.down || downNames[lowerString(w)]
			}
			switch lowerString(w) {
			case "down":
				n.down = true
			case "mm":
				n.mm = true
			case "in", "inch", "inches":
				n.inch = true
			}
		}
		n.axis = append(n.axis, axis)
		if axis != '-' {
			seen[axis-'x']++
		}
	}
	if seen != [3]int{1, 1, 1} {
		n = nil
	}
	return n, row.Separator()
}
