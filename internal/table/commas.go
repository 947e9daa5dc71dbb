package table

import "bytes"

// CommaHint is what to do about commas that stand for decimal points between columns
// that are parted by commas.
const CommaHint = "if commas are decimal signs here, save the table with semicolons between the columns, or with decimal points"

// MayHaveCommas returns CommaHint for a row between commas whose fields are whole
// numbers, as they are where some of the commas are decimal signs; else "".
func (r *Row) MayHaveCommas() string {
	if r.sep != ',' {
		return ""
	}
	for k := range r.fields {
		if text := r.Text(k); len(text) > 0 && !whole(bytes.TrimLeft(text, "+-")) {
			return ""
		}
	}
	return CommaHint
}

// whole reports whether text is digits only.
func whole(text []byte) bool {
	return len(text) > 0 && !bytes.ContainsFunc(text, func(c rune) bool { return c < '0' || c > '9' })
}

// Commas finds how a line of fields between commas is read as n numbers some of whose
// commas are decimal signs: in how many ways, 2 for more than one, and where those
// commas stand in the only one. A decimal comma has digits on either side, and no blank.
func Commas(line []byte, n int) (ways int, at []int) {
	fields := bytes.Split(line, []byte{','})
	for len(fields) > n && len(bytes.TrimSpace(fields[len(fields)-1])) == 0 {
		fields = fields[:len(fields)-1] // as spreadsheets fill up
	}
	joins := len(fields) - n // so many commas are decimal signs
	if joins < 0 || joins > n {
		return 0, nil
	}
	// From the end: of[j] is in how many ways the fields from k on can have j of them.
	next, after := make([]int, joins+1), make([]int, joins+1)
	joined := make([][]bool, len(fields)) // whether field k and the next may be one, with j joins from there
	next[0] = 1
	for k := len(fields) - 1; k >= 0; k-- {
		of := make([]int, joins+1)
		joined[k] = make([]bool, joins+1)
		may := k+1 < len(fields) && whole(bytes.TrimLeft(bytes.TrimLeft(fields[k], " \t"), "+-")) && whole(bytes.TrimRight(fields[k+1], " \t"))
		for j := range of {
			of[j] = next[j]
			if may && j > 0 && after[j-1] > 0 {
				of[j], joined[k][j] = of[j]+after[j-1], true
			}
			of[j] = min(of[j], 2)
		}
		next, after = of, next
	}
	if ways = next[joins]; ways != 1 {
		return ways, nil
	}
	for k, j, offset := 0, joins, 0; k < len(fields); k++ {
		offset += len(fields[k])
		if joined[k][j] {
			at = append(at, offset)
			j--
			k++
			offset += 1 + len(fields[k])
		}
		offset++
	}
	return 1, at
}
