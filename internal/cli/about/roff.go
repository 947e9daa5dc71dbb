package about

import (
	"bytes"
	"fmt"
	"strings"
)

// roff is a page as it is written.
type roff struct{ bytes.Buffer }

// request writes one with its arguments.
func (r *roff) request(name string, args ...string) {
	r.WriteString("." + name)
	for _, a := range args {
		if a == "" || strings.ContainsAny(a, " ") {
			a = `"` + escaped(a) + `"`
		} else {
			a = escaped(a)
		}
		r.WriteString(" " + a)
	}
	r.WriteByte('\n')
}

// text writes a line of text.
func (r *roff) text(line string) {
	line = escaped(line)
	if strings.HasPrefix(line, ".") || strings.HasPrefix(line, `\(aq`) {
		line = `\&` + line // a request else
	}
	r.WriteString(line + "\n")
}

// escaped is a text in which no character means anything but itself.
func escaped(text string) string {
	var b strings.Builder
	for _, c := range text {
		switch c {
		case '\\':
			b.WriteString(`\(rs`)
		case '-':
			b.WriteString(`\-`) // one to copy to a command line, not a hyphen
		case '\'':
			b.WriteString(`\(aq`)
		case '"':
			b.WriteString(`\(dq`)
		case '`':
			b.WriteString(`\(ga`)
		case '^':
			b.WriteString(`\(ha`)
		case '~':
			b.WriteString(`\(ti`)
		default:
			if c < 0x80 {
				b.WriteRune(c)
			} else {
				fmt.Fprintf(&b, `\[u%04X]`, c)
			}
		}
	}
	return b.String()
}

// blocks writes those of a text, with blank lines between. Those that are indented by
// as much as prose are paragraphs, to be filled. What is indented further stands as it
// is, but for terms, each with its meaning indented by another four.
func (r *roff) blocks(text string, prose int) {
	for i, block := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		lines := strings.Split(strings.Trim(block, "\n"), "\n")
		terms := indent(lines[0]) > prose && len(lines) > 1 && indent(lines[1]) == indent(lines[0])+4
		if i > 0 && !terms { // a section begins one by itself
			r.request("PP")
		}
		switch {
		case indent(lines[0]) <= prose:
			for _, line := range lines {
				r.text(strings.TrimSpace(line))
			}
		case terms:
			for _, line := range lines {
				if indent(line) == indent(lines[0]) {
					r.request("TP")
				}
				r.text(strings.TrimSpace(line))
			}
		default:
			r.request("RS", "4")
			r.request("nf")
			for _, line := range lines {
				r.text(line[min(len(line), indent(lines[0])):])
			}
			r.request("fi")
			r.request("RE")
		}
	}
}

// entries writes a section of them, if there are any.
func (r *roff) entries(title string, list []Entry) {
	if len(list) == 0 {
		return
	}
	r.request("SH", title)
	for _, e := range list {
		r.request("TP")
		r.text(e.Name)
		r.text(e.Meaning)
	}
}

// indent is by how many blanks a line is indented.
func indent(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }
