package cli

import (
	"errors"
	"strconv"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/diag"
)

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
