package cli

import (
	"cmp"
	"embed"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// helpTexts are what --help says, a file for each command: a line on how it is
// used, one on what it does, then that at length, and examples.
//
//go:embed help/*.txt
var helpTexts embed.FS

// examples is the line before the examples.
const examples = "\n\nExamples:\n"

// explained makes a command of its help text.
func explained(name string) *cobra.Command {
	text, err := helpTexts.ReadFile("help/" + name + ".txt")
	if err != nil {
		panic(err)
	}
	use, rest, _ := strings.Cut(strings.TrimSpace(string(text)), "\n")
	short, rest, _ := strings.Cut(rest, "\n\n")
	long, example, _ := strings.Cut(rest, examples)
	return &cobra.Command{Use: use, Short: short, Long: long, Example: example}
}

// topic makes an additional help topic, a command that does nothing but explain
// the fields of a file.
func topic(name string, table func() string) *cobra.Command {
	c := explained(name)
	c.Long += "\n\n" + table()
	return c
}

// fieldTable lists fields, each with its default, an example and its meaning.
func fieldTable(fields []record.Field) string {
	var b strings.Builder
	for _, f := range fields {
		unit := ""
		if f.Unit != "" {
			unit = " (" + f.Unit + ")"
		}
		fmt.Fprintf(&b, "  %s = %s%s; default: %s\n", f.Name, f.Example, unit, cmp.Or(f.Default, "unset"))
		for _, line := range phrase.Fold(f.Meaning, 78, "      ", "      ") {
			b.WriteString(line + "\n")
		}
	}
	return strings.TrimRight(b.String(), "\n")
}
