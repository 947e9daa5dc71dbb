package record

import "bytes"

// mostNested is how deep brackets stand within one another, and how many parts a dotted key
// has: no field has more than three. The time and memory of the decoder grow with the
// square of both: 16 KiB of brackets would keep it busy for seconds, with 450 MB.
const mostNested = 16

// TooDeep gives the line on which TOML goes deeper than any settings file does, 0 for none.
func TooDeep(text []byte) (line int) {
	line = 1
	depth, dots := 0, 0
	for k := 0; k < len(text); k++ {
		switch c := text[k]; c {
		case '\n':
			line++
			dots = 0
		case '#':
			if end := bytes.IndexByte(text[k:], '\n'); end >= 0 {
				k += end - 1
			} else {
				k = len(text)
			}
		case '"', '\'':
			end := endOfText(text[k:])
			line += bytes.Count(text[k:k+end], []byte{'\n'})
			k += end - 1
		case '[', '{':
			depth++
			dots = 0
		case ']', '}':
			depth = max(0, depth-1)
		case ',', '=':
			dots = 0
		case '.':
			dots++
		}
		if depth > mostNested || dots > mostNested {
			return line
		}
	}
	return 0
}

// endOfText is where a quoted text ends that begins text, the quotes included; one on one line
// ends with that at the latest.
func endOfText(text []byte) int {
	quote := text[:1]
	if long := bytes.Repeat(quote, 3); bytes.HasPrefix(text, long) {
		quote = long
	}
	for k := len(quote); k < len(text); k++ {
		switch {
		case text[k] == '\\' && quote[0] == '"':
			k++
		case bytes.HasPrefix(text[k:], quote):
			return k + len(quote)
		case text[k] == '\n' && len(quote) == 1:
			return k
		}
	}
	return len(text)
}
