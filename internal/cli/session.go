package cli

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
)

// session is one run of the command: its streams, and what it has open.
type session struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	files          *files.Files
}

// Main runs the command line and gives the exit status.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	// A closed pipe is a failure to write like any other, not a signal.
	signal.Ignore(syscall.SIGPIPE)
	s := &session{stdin: stdin, stdout: stdout, stderr: stderr, files: files.New(ctx, stdin, stdout, stderr)}
	defer s.files.Close()
	err := s.command(args).ExecuteContext(ctx)
	s.files.ClearProgress()
	if err != nil {
		err = s.files.Err(err)
	}
	return exit(stderr, err)
}

// command builds the root command. Errors of flags come back as settings.
func (s *session) command(args []string) *cobra.Command {
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
	root.SetArgs(args)
	root.SetIn(s.stdin)
	root.SetOut(s.stdout)
	root.SetErr(s.stderr)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usagef("see: "+c.CommandPath()+" --help", "%s", err.Error())
	})
	root.AddCommand(s.demoCommand(), s.followCommand(), s.verifyCommand())
	root.AddCommand(s.ladderCommand())
	root.AddCommand(s.lensCommand())
	root.AddCommand(s.probeCommand())
	root.AddCommand(s.surfaceCommand())
	root.AddCommand(topics()...)
	root.AddCommand(s.splitCommand())
	root.AddCommand(s.adviseCommand())
	return root
}

// operands wants exactly one operand, named what.
func operands(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		hint := "see: " + c.CommandPath() + " --help"
		switch {
		case len(args) == 0:
			return usagef(hint, "%s", "no "+what+" given")
		case len(args) > 1:
			return usagef(hint, "%s", "one "+what+" at a time, not also "+args[1])
		}
		return nil
	}
}
