package touch

import (
	"regexp"
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
	sep  byte   // of fields
	axis []byte // of each field: x, y, z or '-'
	down bool
	inch bool
	mm   bool
}

// An underscore parts a name from its unit.
var nameWords = regexp.MustCompile(`[A-Za-z\x{80}-\x{10FFFF}]+`)

// namesOf reads a row without numbers as names of columns, and reports whether x, y
// and z are among them, once each.
func namesOf(b []byte, line int) (n names, ok bool) {
	row := table.RowOf(b)
	n = names{line: line, sep: row.Separator()}
	for k := range row.Len() {
		axis := byte('-')
		for _, w := range nameWords.FindAll(row.Text(k), -1) {
			word := strings.ToLower(string(w))
			if a := nameOf(word); a != 0 && axis == '-' {
				axis = a
				n.down = n.down || downNames[word]
			}
			n.down = n.down || word == "down"
			n.mm = n.mm || word == "mm"
			n.inch = n.inch || word == "in" || word == "inch" || word == "inches"
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
