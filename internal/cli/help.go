package cli

import (
	"cmp"
	"embed"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/diag"
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

// usagef is a fault of the command line.
func usagef(hint, format string, args ...any) error {
	return diag.Errorf(diag.Setting, hint, format, args...)
}

// seeHelp is the hint to a command's help.
func seeHelp(c *cobra.Command) string { return "see: " + c.CommandPath() + " --help" }

// flagError says what is wrong with an option.
func flagError(c *cobra.Command, err error) error {
	e, ok := errors.AsType[*pflag.InvalidValueError](err)
	if !ok {
		return usagef(seeHelp(c), "%v", err)
	}
	name, text := e.GetFlag().Name, e.GetValue()
	if _, ok := errors.AsType[*strconv.NumError](err); ok {
		return usagef(seeHelp(c), "--%s %s: %q is not a number", name, text, text)
	}
	return usagef(seeHelp(c), "--%s %s: %v", name, text, e.Unwrap())
}

// operand wants exactly one operand, which is a what.
func operand(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > 1 {
			return usagef(seeHelp(c), "one %s at a time, not also %s", what, args[1])
		}
		return someOperand(what)(c, args)
	}
}

// someOperand wants one operand or more.
func someOperand(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return usagef(seeHelp(c), "no %s given", what)
		}
		return nil
	}
}

// anyOperand leaves operands to the command.
func anyOperand(*cobra.Command, []string) error { return nil }

// noOperand wants none.
func noOperand(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef(seeHelp(c), "%s takes no %s", c.CommandPath()[len("sagitta "):], args[0])
	}
	return nil
}

// noSuchLens is for a lens without one of its commands.
func noSuchLens(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return usagef(seeHelp(c), "lens wants fit, rungs, beam or show")
	}
	return usagef(seeHelp(c), "lens wants fit, rungs, beam or show, not %s", args[0])
}
