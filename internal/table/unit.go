package table

import (
	"regexp"
	"strings"
)

// words are those of a column's name; an underscore parts a name from its unit.
var words = regexp.MustCompile(`[A-Za-z\x{80}-\x{10FFFF}]+`)

// Words are the words of a column's name, in lower case: of "x_mm" and "X (mm)" they
// are x and mm.
func Words(name []byte) (list []string) {
	for _, w := range words.FindAll(name, -1) {
		list = append(list, strings.ToLower(string(w)))
	}
	return list
}

// UnitOf is the unit of length that a column's name says: mm, in or, where it says
// none, "".
func UnitOf(name []byte) string {
	for _, w := range Words(name) {
		switch w {
		case "mm":
			return "mm"
		case "in", "inch", "inches":
			return "in"
		}
	}
	return ""
}
