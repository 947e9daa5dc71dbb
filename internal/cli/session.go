// Package cli is the command line: one file for each command, flags in,
// errors out to exit statuses in one place (exit.go). Nothing below it knows
// of flags, colours or statuses, and no other package imports cobra.
package cli

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
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
	args  []string       // all that was typed

	ctx    context.Context
	stdout io.Writer
	serves atomic.Bool // the command serves a page until it is asked to end

	// only is the command of one of several runs in a process, "" where it is the only run.
	only string
	// kept are surfaces of runs before, nil where it is the only run.
	kept *job.Kept
	// finishes ends what is at hand of a run that, asked to end, finishes that first; nil for
	// other runs.
	finishes atomic.Pointer[context.CancelFunc]
	// ends is what a run that does many things does before it is ended, nil for nothing.
	ends atomic.Pointer[func()]
	// advice is what advise has found.
	advice *say.Advice
}

// command is what a command does. It points to a struct with its options, see
// package option.
type command interface {
	// run does it with its operands.
	run(s *session, args []string) error
}

// endsWithin is how long a run that is asked to end may take to do so, and servedWithin
// how long one that serves a page may take to finish what it was asked for there.
const (
	endsWithin   = 400 * time.Millisecond
	servedWithin = 10 * time.Second
)

// saysWithin is how much longer it may take where its results are in their places.
const saysWithin = 5 * time.Second

// Main runs the command line and gives the exit status.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	asks := []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP}
	ctx, stop := signal.NotifyContext(context.Background(), asks...)
	defer stop()
	// A closed pipe is a failure to write like any other, not a signal.
	signal.Ignore(syscall.SIGPIPE)
	s := newSession(ctx, stdin, stdout, stderr)
	defer s.files.Close()
	// What waits for a terminal, a pipe or a long search does not see that it is
	// asked to end.
	defer context.AfterFunc(ctx, func() {
		if s.serves.Load() {
			time.Sleep(servedWithin)
		}
		if cut := s.finishes.Load(); cut != nil {
			again := make(chan os.Signal, 1)
			signal.Notify(again, asks...)
			<-again
			(*cut)()
		}
		time.Sleep(endsWithin)
		if ends := s.ends.Load(); ends != nil {
			(*ends)()
			os.Exit(statusInterrupted)
		}
		if s.files.Placing() {
			// What is left is to say what was done, for which a busy machine may need long.
			time.Sleep(saysWithin)
			s.say.Line("interrupted; the results are in their places")
			os.Exit(statusInterrupted)
		}
		s.files.Close()
		os.Exit(exit(s.say, files.ErrInterrupted))
	})()
	return s.execute(args, stdin, stderr)
}

// Run runs a command line inside of another run of the tool: it has no standard input,
// leaves signals alone, and never ends the process. It ends early where ctx does, as it
// would by a signal, but for what waits or searches without reading.
func Run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	none := strings.NewReader("")
	s := newSession(ctx, none, stdout, stderr)
	defer s.files.Close()
	return s.execute(args, none, stderr)
}

// newSession begins a run that lasts until ctx is done.
func newSession(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) *session {
	f := files.New(ctx, stdin, stdout, stderr)
	return &session{ctx: ctx, stdout: stdout, files: f, say: say.Voice{W: f.Messages(), Screen: say.ScreenOf(stderr)}, out: say.ScreenOf(stdout)}
}

// execute runs the command line and gives the exit status.
func (s *session) execute(args []string, stdin io.Reader, stderr io.Writer) int {
	return exit(s.say, s.perform(args, stdin, stderr))
}

// perform runs the command line, and says nothing of what goes wrong.
func (s *session) perform(args []string, stdin io.Reader, stderr io.Writer) error {
	s.args = args
	root := s.root()
	root.SetArgs(args)
	root.SetIn(stdin)
	help, written := s.files.Stdout() // results go out by themselves
	root.SetOut(help)
	root.SetErr(stderr)
	err := root.Execute()
	if e := written(); err == nil {
		err = e
	}
	if _, all := errors.AsType[saidStatus](err); err == nil || all {
		return err
	}
	return s.files.Err(err)
}

// lensFields, machineFields, fixtureFields and burnFields are the tables of what records may
// say.
var (
	lensFields    = sync.OnceValue(func() string { return fieldTable(record.Fields(&record.Lens{})) })
	burnFields    = sync.OnceValue(func() string { return fieldTable(record.BurnFields()) })
	machineFields = sync.OnceValue(func() string { return fieldTable(record.Fields(record.DefaultMachine())) })
	fixtureFields = sync.OnceValue(func() string { return fieldTable(record.Fields(&record.Fixture{HeightsOf: record.OfFixture})) })
)

// root is the command above all commands.
func (s *session) root() *cobra.Command {
	root := explained("sagitta")
	root.SilenceErrors, root.SilenceUsage = true, true
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(
		s.command("demo", noOperand, &demoOptions{Dir: "sagitta-demo"}),
		s.command("follow", operand("program"), fresh("follow")),
		s.command("verify", operand("program"), fresh("verify")),
		s.command("report", operand("program"), fresh("report")),
		s.command("ladder", noOperand, &ladderOptions{}),
		s.command("probe", operand("program"), &probeOptions{Margin: 2}),
		s.command("recheck", anyOperand, &recheckOptions{Places: 6}),
		s.command("surface", someOperand("file of measured heights"), fresh("surface")),
		s.command("split", operand("program"), fresh("split")),
		s.command("place", operand("program of one part"), fresh("place")),
		s.command("advise", operand("program"), fresh("advise")),
		s.command("run", anyOperand, &jobsOptions{}),
		s.command("watch", operand("folder"), &watchOptions{Rest: 1}),
		s.command("desk", deskOperand, &deskOptions{}),
	)
	if s.only != "" {
		return root // what else there is takes longer to make than a small job
	}
	rungs := fresh("lens rungs").(*rungsOptions)
	lens := explained("lens")
	lens.RunE = noSuchLens
	lens.AddCommand(
		s.command("lens-fit", operand("file of widths"), &fitOptions{Wider: "0"}),
		s.command("lens-rungs", rungs.operand, rungs),
		s.command("lens-beam", noOperand, &beamOptions{}),
		s.command("lens-show", someOperand("lens record"), &showOptions{detailOptions: newDetail()}),
	)
	s.ship(root)
	root.AddCommand(
		lens,
		topic("lens-record", lensFields),
		topic("machine-profile", machineFields),
		topic("fixture-record", fixtureFields),
		topic("burn-rules", burnFields),
	)
	root.InitDefaultHelpCmd()
	if help, _, err := root.Find([]string{"help"}); err == nil {
		help.Short = "help for a command"
	}
	return root
}

// fresh gives the options of a command as an empty command line has them.
func fresh(name string) command {
	switch name {
	case "follow":
		return &followOptions{options: newOptions()}
	case "verify":
		return &verifyOptions{checkOptions: checkOptions{options: newOptions()}}
	case "split":
		return &splitOptions{options: newOptions(), Order: "best"}
	case "place":
		return &placeOptions{options: newOptions()}
	case "advise":
		return &adviseOptions{options: newOptions(), detailOptions: newDetail()}
	case "report":
		return &reportOptions{checkOptions: checkOptions{options: newOptions()}}
	case "surface":
		return &surfaceOptions{}
	case "lens rungs":
		return &rungsOptions{}
	}
	panic("cli: no options of " + name)
}

// command makes the command that the help text called name explains.
func (s *session) command(name string, args cobra.PositionalArgs, do command) *cobra.Command {
	if s.only != "" && s.only != name {
		return &cobra.Command{Use: name}
	}
	c := explained(name)
	c.Args = args
	bind(c.Flags(), do)
	if len(s.args) > 0 && (s.args[0] == cobra.ShellCompRequestCmd || s.args[0] == cobra.ShellCompNoDescRequestCmd) {
		complete(c, do) // only where a shell asks, as cobra keeps it for as long as the process lives
	}
	c.RunE = func(_ *cobra.Command, args []string) error {
		s.flags = c.Flags()
		if err := option.Check(do, s.given); err != nil {
			return err
		}
		return do.run(s, args)
	}
	return c
}

// collect lets the heap of a run grow by so many percent before it is collected, until
// what it gives is called. Of runs side by side that is what they have in common.
func (s *session) collect(percent int) (back func()) {
	if s.only != "" {
		return func() {}
	}
	was := debug.SetGCPercent(percent)
	return func() { debug.SetGCPercent(was) }
}

// given reports whether an option was given.
func (s *session) given(name string) bool { return s.flags.Changed(name) }

// open is how the rooms below open a file.
func (s *session) open(name string) (io.ReadCloser, error) { return s.files.Open(name) }
