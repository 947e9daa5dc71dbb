package cli

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// Version is what --version and the marker say.
const Version = "0.1.0"

// maker is what made a file.
const maker = "sagitta " + Version

// session is one run of the tool.
type session struct {
	files *files.Files
	say   say.Voice      // to standard error
	out   say.Screen     // where standard output goes
	flags *pflag.FlagSet // of the command that is run
}

// command is what a command does. It points to a struct with its options, see
// package option.
type command interface {
	// run does it with its operands.
	run(s *session, args []string) error
}

// endsWithin is how long a run that is asked to end may take to do so.
const endsWithin = 400 * time.Millisecond

// saysWithin is how much longer it may take where its results are in their places.
const saysWithin = 5 * time.Second

// Main runs the command line and gives the exit status.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	// A closed pipe is a failure to write like any other, not a signal.
	signal.Ignore(syscall.SIGPIPE)
	f := files.New(ctx, stdin, stdout, stderr)
	defer f.Close()
	s := &session{files: f, say: say.Voice{W: f.Messages(), Screen: say.ScreenOf(stderr)}, out: say.ScreenOf(stdout)}
	// What waits for a terminal, a pipe or a long search does not see that it is
	// asked to end.
	defer context.AfterFunc(ctx, func() {
		time.Sleep(endsWithin)
		if f.Placing() {
			// What is left is to say what was done, for which a busy machine may need long.
			time.Sleep(saysWithin)
			s.say.Line("interrupted; the results are in their places")
			os.Exit(statusInterrupted)
		}
		f.Close()
		os.Exit(exit(s.say, files.ErrInterrupted))
	})()
	root := s.root()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.Execute()
	if err != nil {
		err = f.Err(err)
	}
	return exit(s.say, err)
}

// root is the command above all commands.
func (s *session) root() *cobra.Command {
	root := explained("sagitta")
	root.SilenceErrors, root.SilenceUsage = true, true
	s.ship(root)
	root.SetFlagErrorFunc(flagError)
	rungs := &rungsOptions{}
	lens := explained("lens")
	lens.RunE = noSuchLens
	lens.AddCommand(
		s.command("lens-fit", operand("file of widths"), &fitOptions{Wider: "0"}),
		s.command("lens-rungs", rungs.operand, rungs),
		s.command("lens-beam", noOperand, &beamOptions{}),
		s.command("lens-show", someOperand("lens record"), &showOptions{detailOptions: newDetail()}),
	)
	root.AddCommand(
		s.command("demo", noOperand, &demoOptions{Dir: "sagitta-demo"}),
		s.command("follow", operand("program"), &followOptions{options: newOptions()}),
		s.command("verify", operand("program"), &verifyOptions{options: newOptions()}),
		s.command("ladder", noOperand, &ladderOptions{}),
		lens,
		s.command("probe", operand("program"), &probeOptions{Margin: 2}),
		s.command("recheck", anyOperand, &recheckOptions{Places: 6}),
		s.command("surface", someOperand("file of measured heights"), &surfaceOptions{}),
		s.command("split", operand("program"), &splitOptions{options: newOptions(), Order: "best"}),
		s.command("advise", operand("program"), &adviseOptions{newOptions(), newDetail()}),
		topic("lens-record", record.Fields(&record.Lens{})),
		topic("machine-profile", record.Fields(record.DefaultMachine())),
	)
	root.InitDefaultHelpCmd()
	if help, _, err := root.Find([]string{"help"}); err == nil {
		help.Short = "help for a command"
	}
	return root
}

// command makes the command that the help text called name explains.
func (s *session) command(name string, args cobra.PositionalArgs, do command) *cobra.Command {
	c := explained(name)
	c.Args = args
	bind(c.Flags(), do)
	complete(c, do)
	c.RunE = func(_ *cobra.Command, args []string) error {
		s.flags = c.Flags()
		if err := option.Check(do, s.given); err != nil {
			return err
		}
		return do.run(s, args)
	}
	return c
}

// given reports whether an option was given.
func (s *session) given(name string) bool { return s.flags.Changed(name) }

// open is how the rooms below open a file.
func (s *session) open(name string) (io.ReadCloser, error) { return s.files.Open(name) }
