package touch

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
	line    int
	axis    []byte // of each field: x, y, z or '-'
	down    bool
	up      bool
	inch    bool
	mm      bool
	perfect bool // x, y and z are all there, once
}

// nameRow reads a row without numbers as names of columns; nil where it is
// none. sep is found from the row itself.
func nameRow(b []byte, line int) (*names, byte) {
	sep := byte(' ')
	for _, c := range []byte{';', ',', '\t'} {
		for _, d := range b {
			if d == c {
				sep = c
				break
			}
		}
		if sep != ' ' {
			break
		}
	}
	n := &names{line: line}
	seen := map[byte]int{}
	for _, f := range fields(b, sep) {
		axis := byte('-')
		for k := 0; k < len(f); {
			// An underscore parts a name from its unit.
			if !letter(f[k]) || f[k] == '_' {
				k++
				continue
			}
			m := k
			for m < len(f) && letter(f[m]) && f[m] != '_' {
				m++
			}
			w := f[k:m]
			if a := nameOf(w); a != 0 && axis == '-' {
				axis = a
				if downNames[lowerString(w)] {
					n.down = true
				}
			}
			switch text := lowerString(w); text {
			case "down":
				n.down = true
			case "up":
				n.up = true
			case "mm":
				n.mm = true
			case "in", "inch", "inches":
				n.inch = true
			}
			k = m
		}
		n.axis = append(n.axis, axis)
		if axis != '-' {
			seen[axis]++
		}
	}
	if len(seen) == 0 {
		return nil, sep
	}
	n.perfect = seen['x'] == 1 && seen['y'] == 1 && seen['z'] == 1
	if !n.perfect {
		return nil, sep
	}
	return n, sep
}

// fields cuts b at sep; at runs of blanks for a blank.
func fields(b []byte, sep byte) [][]byte {
	var out [][]byte
	start := 0
	for i := 0; i <= len(b); i++ {
		if i < len(b) && b[i] != sep {
			continue
		}
		if sep != ' ' || i > start {
			out = append(out, b[start:i])
		}
		start = i + 1
	}
	return out
}
