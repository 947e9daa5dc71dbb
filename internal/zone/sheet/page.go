package sheet

import (
	"fmt"
	"regexp"
	"strings"

	"sagitta/internal/phrase"
)

const (
	// columns is how many a line of the sheet has at most.
	columns = 80
	// nameColumns is how many a name has at most, headColumns that of the job at the
	// head of a page.
	nameColumns, headColumns = 56, 40
	// underColumn, column and longColumn are where what stands behind a tab begins:
	// without a label, behind a short one and behind others.
	underColumn, column, longColumn = 6, 10, 18
	// box is what there is to tick.
	box = "[ ] "
	// blank stands for a blank in a name until lines are folded, which would break there.
	blank = '\ue000'
)

// name is a name as a word of the sheet, without its middle where it is long.
func name(text string) string {
	return strings.ReplaceAll(shortened(text, nameColumns), " ", string(blank))
}

// shortened leaves out the middle of a name that has more columns.
func shortened(text string, most int) string {
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

// header is the head of page n of so many.
func header(job string, n, of int) string {
	title, page := "FOCUS ZONES OF "+shortened(job, headColumns), fmt.Sprintf("page %d of %d", n, of)
	// The form feed before it is no column, but is often counted as one.
	return title + strings.Repeat(" ", columns-1-phrase.Columns(title)-len(page)) + page + "\n\n"
}

// unbound has the blanks of names again.
func unbound(text string) string { return strings.ReplaceAll(text, string(blank), " ") }

// withUnit is a number and what it counts, which stay on one line.
var withUnit = regexp.MustCompile(`([0-9]) (mm\b|division)`)

// laidOut folds the lines of a text to the columns of the sheet.
func laidOut(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		line = withUnit.ReplaceAllString(strings.TrimRight(line, " \n"), "$1"+string(blank)+"$2")
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
		for _, l := range phrase.Fold(rest, columns, first, strings.Repeat(" ", hang)) {
			b.WriteString(unbound(l) + "\n")
		}
	}
	return b.String()
}
