package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// topics are the additional help topics: commands that do nothing but explain.
func topics() []*cobra.Command {
	return []*cobra.Command{
		{Use: "lens-record", Short: "every field of a lens record", Long: `A lens record is a TOML file that says what is known of a lens on a bench; give
it with -l. Every field may be left out. A field's name carries its unit; a name
that is not listed here is an error.

` + fieldTable(record.LensFields())},
		{Use: "machine-profile", Short: "every field of a machine profile", Long: `A machine profile is a TOML file that says what a bench is like; give it with
-m. What is left out keeps the default, "unset" where there is none. A field's
name carries its unit; a name that is not listed here is an error.

` + fieldTable(record.MachineFields())},
	}
}

// fieldTable lists fields, each with its default, an example and its meaning.
func fieldTable(fields []record.Field) string {
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
		for _, line := range phrase.Fold(f.Meaning, 78, "      ", "      ") {
			b.WriteString(line + "\n")
		}
	}
	return strings.TrimRight(b.String(), "\n")
}
