package cli

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"strconv"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
)

// session is one run of the command.
type session struct {
	files *files.Files
	say   say.Voice // to standard error
}

// Main runs the command line and gives the exit status.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	// A closed pipe is a failure to write like any other, not a signal.
	signal.Ignore(syscall.SIGPIPE)
	s := &session{files: files.New(ctx, stdin, stdout, stderr), say: say.Voice{W: stderr}}
	defer s.files.Close()
	root := s.command()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.Execute()
	s.files.ClearProgress()
	if err != nil {
		err = s.files.Err(err)
	}
	return exit(stderr, err)
}

// command builds the root command.
func (s *session) command() *cobra.Command {
	root := &cobra.Command{
		Use:   "sagitta",
		Short: "keep a laser in focus on stock that is not flat",
		Long: `sagitta keeps a laser in focus on stock that is not flat. It takes a program, a
measured surface and what is known of the lens, writes the program that follows
the surface, and proves that every burn is in focus.

Lasers hurt eyes and start fires, and axes move: wear eye protection made for
the wavelength, extract the fumes, keep an extinguisher at hand, beware of
reflective stock, keep clear of moving axes, and never leave a burning machine
unattended. Local rules and licensed practice come first. This tool certifies
nothing.`,
		Version:       Version,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetVersionTemplate("sagitta {{.Version}}\n")
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(s.demoCommand(), s.followCommand(), s.verifyCommand(), s.ladderCommand(), s.lensCommand(),
		s.probeCommand(), s.surfaceCommand(), s.splitCommand(), s.adviseCommand())
	root.AddCommand(topics()...)
	root.InitDefaultHelpCmd()
	if help, _, err := root.Find([]string{"help"}); err == nil {
		help.Short = "help for a command"
	}
	return root
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
		switch {
		case len(args) == 0:
			return usagef(seeHelp(c), "no %s given", what)
		case len(args) > 1:
			return usagef(seeHelp(c), "one %s at a time, not also %s", what, args[1])
		}
		return nil
	}
}

// noOperand wants none.
func noOperand(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef(seeHelp(c), "%s takes no %s", c.CommandPath()[len("sagitta "):], args[0])
	}
	return nil
}

// open is how the rooms below open a file.
func (s *session) open(name string) (io.ReadCloser, error) { return s.files.Open(name) }
