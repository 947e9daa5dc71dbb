package measured

import (
	"bytes"
	"fmt"
	"strconv"

	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Draft is a lens record in the making, and what was found out on the way.
type Draft struct {
	*record.Lens
	// Found are the lines of what was found, in plain words.
	Found []string
}

// Note adds a line to what was found.
func (d *Draft) Note(format string, args ...any) {
	d.Found = append(d.Found, phrase.Printable(fmt.Sprintf(format, args...)))
}

// A record must stay well within what is read of a settings file, however much
// was found.
const (
	mostComments   = 25
	longestComment = 240 // characters
)

// Text is the record as a file, what was found as comments before it.
func (d *Draft) Text() ([]byte, error) {
	var b bytes.Buffer
	for i, line := range d.Found {
		if i == mostComments {
			fmt.Fprintf(&b, "# and %d lines more\n", len(d.Found)-i)
			break
		}
		if r := []rune(line); len(r) > longestComment {
			line = string(r[:longestComment]) + " ..."
		}
		b.WriteString("# " + line + "\n")
	}
	err := record.WriteLens(&b, d.Lens)
	return b.Bytes(), err
}

// recordDigits are the digits of a measured or computed number in a record:
// more than any measurement of a beam has.
const recordDigits = 6

func rounded(v float64) *float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', recordDigits, 64), 64)
	return &r
}
