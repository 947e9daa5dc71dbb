package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"sagitta/internal/job"
)

// topics are the additional help topics: commands that do nothing but explain.
func topics() []*cobra.Command {
	return []*cobra.Command{
		{Use: "lens-record", Short: "every field of a lens record", Long: `A lens record is a TOML file that says what is known of a lens on a bench; give
it with -l. Every field may be left out. A field's name carries its unit; a name
that is not listed here is an error.

` + fieldTable(job.LensFields())},
		{Use: "machine-profile", Short: "every field of a machine profile", Long: `A machine profile is a TOML file that says what a bench is like; give it with
-m. What is left out keeps the default, "unset" where there is none. A field's
name carries its unit; a name that is not listed here is an error.

` + fieldTable(job.MachineFields())},
	}
}

// fieldTable lists fields, each with its default, an example and its meaning.
func fieldTable(fields []job.Field) string {
	var b strings.Builder
	for _, f := range fields {
		def := f.Default
		if def == "" {
			def = "unset"
		}
		unit := ""
		if f.Unit != "" {
			unit = " (" + f.Unit + ")"
		}
		fmt.Fprintf(&b, "  %s = %s%s; default: %s\n", f.Name, f.Example, unit, def)
		for _, line := range folded(f.Meaning, 72) {
			fmt.Fprintf(&b, "      %s\n", line)
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

// folded breaks text at blanks into lines of width letters at most.
func folded(text string, width int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}
