package touch

import (
	"strings"

	"sagitta/internal/table"
)

// downNames are names of readings that grow away from the lens.
var downNames = map[string]bool{"gap": true, "down": true, "depth": true, "distance": true}

// nameOf gives the axis that a column's name or a word before a number means,
// 0 for none. Words are in lower case, and those that people write over such columns.
func nameOf(word string) byte {
	switch word {
	case "x", "y", "z":
		return word[0]
	case "height", "heights", "reading", "gauge", "dial", "gap", "depth", "distance", "down":
		return 'z'
	}
	if len(word) > 2 && word[1] == '_' && (word[0] == 'x' || word[0] == 'y' || word[0] == 'z') {
		return word[0]
	}
	return 0
}

// names is a row of column names; the zero value is none.
type names struct {
	line int
	sep  byte      // of fields
	axis []byte    // of each field: x, y, z or '-'
	unit [3]string // of x, y and z, mm, in or ""
	down bool
	inch bool
	mm   bool
}

// namesOf reads a row without numbers as names of columns, and reports whether x, y
// and z are among them, once each.
func namesOf(b []byte, line int) (n names, ok bool) {
	row := table.RowOf(b)
	n = names{line: line, sep: row.Separator()}
	for k := range row.Len() {
		axis, unit := byte('-'), table.UnitOf(row.Text(k))
		for _, word := range table.Words(row.Text(k)) {
			if a := nameOf(word); a != 0 && axis == '-' {
				axis = a
				n.down = n.down || downNames[word]
			}
			n.down = n.down || word == "down"
		}
		n.mm, n.inch = n.mm || unit == "mm", n.inch || unit == "in"
		if axis != '-' {
			n.unit[axis-'x'] = unit
		}
		n.axis = append(n.axis, axis)
	}
	return n, eachOnce(string(n.axis))
}

// eachOnce reports whether x, y and z are among columns, once each.
func eachOnce(columns string) bool {
	for _, axis := range []string{"x", "y", "z"} {
		if strings.Count(columns, axis) != 1 {
			return false
		}
	}
	return true
}
