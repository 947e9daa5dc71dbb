package setup

import (
	"fmt"
	"regexp"
	"strings"

	"sagitta/internal/phrase"
)

const (
	// Columns is how many a line of a sheet has at most.
	Columns = 80
	// nameColumns is how many a name has at most, HeadColumns that of the job at the
	// head of a page.
	nameColumns, HeadColumns = 56, 40
	// underColumn, column and longColumn are where what stands behind a tab begins:
	// without a label, behind a short one and behind others.
	underColumn, column, longColumn = 6, 10, 18
	// box is what there is to tick.
	box = "[ ] "
	// Blank stands for a blank in a name until lines are folded, which would break there.
	Blank = '\ue000'
)

// Word is a name as a word of a sheet, without its middle where it is long.
func Word(text string) string {
	return strings.ReplaceAll(Shortened(text, nameColumns), " ", string(Blank))
}

// Shortened leaves out the middle of a name that has more columns.
func Shortened(text string, most int) string {
	const gap = "..."
	text = phrase.Printable(text)
	if phrase.Columns(text) <= most {
		return text
	}
	r := []rune(text)
	front, back := len(r), len(r) // what is left begins at back
	for half := (most - len(gap)) / 2; phrase.Columns(string(r[:front])) > half; front-- {
	}
	for rest := most - len(gap) - phrase.Columns(string(r[:front])); back > 0 && phrase.Columns(string(r[back-1:])) <= rest; back-- {
	}
	return string(r[:front]) + gap + string(r[back:])
}

// Heading is the head of page n of so many: a title, and the job that it is of.
func Heading(title, job string, n, of int) string {
	title += " OF " + Shortened(job, HeadColumns)
	page := fmt.Sprintf("page %d of %d", n, of)
	// The form feed before it is no column, but is often counted as one.
	return title + strings.Repeat(" ", Columns-1-phrase.Columns(title)-len(page)) + page + "\n\n"
}

// Unbound has the blanks of names again.
func Unbound(text string) string { return strings.ReplaceAll(text, string(Blank), " ") }

// withUnit is a number and what it counts, which stay on one line.
var withUnit = regexp.MustCompile(`([0-9]) (mm\b|division)`)

// LaidOut folds the lines of a text to the columns of a sheet: under its box, or under
// what stands behind its tab.
func LaidOut(text string) string {
	var b strings.Builder
	text = withUnit.ReplaceAllString(text, "$1"+string(Blank)+"$2")
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, " \n")
		label, rest, tabbed := strings.Cut(line, "\t")
		first := line[:len(line)-len(strings.TrimLeft(line, " "))]
		hang := len(first)
		switch {
		case tabbed:
			switch hang = column; {
			case label == "":
				hang = underColumn
			case len(label)+2 > column:
				hang = max(longColumn, len(label)+2)
			}
			first = fmt.Sprintf("%-*s", hang, label)
		default:
			if rest = line[hang:]; strings.HasPrefix(rest, box) {
				first, rest, hang = first+box, rest[len(box):], hang+len(box)
			}
		}
		if rest == "" {
			first = strings.TrimRight(first, " ")
		}
		for _, l := range phrase.Fold(rest, Columns, first, strings.Repeat(" ", hang)) {
			b.WriteString(Unbound(l) + "\n")
		}
	}
	return b.String()
}
