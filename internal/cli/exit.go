package cli

import (
	"errors"
	"fmt"
	"io"

	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/program"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
	"sagitta/internal/zone"
)

// The exit statuses, the same for all commands.
const (
	statusDone        = 0
	statusDoesNotHold = 1   // a burn out of focus, a limit that cannot be met
	statusUsage       = 2   // command line or settings
	statusInput       = 3   // a program or surface that cannot be used
	statusIO          = 4   // reading or writing failed
	statusInterrupted = 130 // as shells report an interrupt
)

// usageError is a fault of the command line.
type usageError struct{ what, hint string }

func (e *usageError) Error() string { return e.what }

func usagef(hint, format string, args ...any) error {
	return &usageError{what: fmt.Sprintf(format, args...), hint: hint}
}

// ioError is a failure to read or write.
type ioError struct{ err error }

func (e *ioError) Error() string { return e.err.Error() }
func (e *ioError) Unwrap() error { return e.err }

// notHeld tells that a check did not hold; everything has been said already.
type notHeld struct{}

func (notHeld) Error() string { return "it does not hold" }

// errInterrupted is the end of a run that a signal asked for.
var errInterrupted = errors.New("interrupted")

// exit says what is wrong with err and gives the status.
func exit(stderr io.Writer, err error) int {
	if err == nil {
		return statusDone
	}
	say := func(what, hint string) {
		fmt.Fprintf(stderr, "sagitta: %s\n", what)
		if hint != "" {
			fmt.Fprintf(stderr, "sagitta: %s\n", hint)
		}
	}
	if e, ok := errors.AsType[*usageError](err); ok {
		say(e.what, e.hint)
		return statusUsage
	}
	if errors.Is(err, errInterrupted) {
		say("interrupted; nothing was written", "")
		return statusInterrupted
	}
	if _, ok := errors.AsType[notHeld](err); ok {
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[*follow.UnmetError](err); ok {
		unmet(stderr, e)
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[*zone.UnmetError](err); ok {
		undivided(stderr, e)
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[*faultError](err); ok {
		for _, f := range e.failures {
			say(f, "")
		}
		if e.more > 0 {
			say(fmt.Sprintf("and %d more", e.more), "")
		}
		say(e.Error(), "")
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[*ladder.OptionError](err); ok {
		say(e.What, e.Hint)
		return statusUsage
	}
	if e, ok := errors.AsType[*ladder.LimitError](err); ok {
		say(e.What, e.Hint)
		return statusDoesNotHold
	}
	if _, ok := errors.AsType[*job.SettingsError](err); ok {
		say(err.Error(), "")
		return statusUsage
	}
	if _, ok := errors.AsType[*focus.SpentError](err); ok {
		say(err.Error(), "")
		return statusUsage
	}
	if _, ok := errors.AsType[*surface.DatumError](err); ok {
		say(err.Error(), "")
		return statusUsage
	}
	if _, ok := errors.AsType[*surface.PlacementError](err); ok {
		say(err.Error(), "")
		return statusUsage
	}
	if e, ok := errors.AsType[*optics.NoResultError](err); ok {
		say(e.What, e.Hint)
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[*measured.SyntaxError](err); ok {
		input(stderr, e.Error(), caret(e.Source, e.Col), "")
		return statusInput
	}
	if caret := program.Caret(err); caret != "" {
		input(stderr, err.Error(), caret, program.Hint(err))
		return statusInput
	}
	if e, ok := errors.AsType[*surface.SyntaxError](err); ok {
		input(stderr, e.Error(), caret(e.Source, e.Col), "")
		return statusInput
	}
	if e, ok := errors.AsType[*surface.UnsupportedError](err); ok {
		if e.Line == 0 { // an option asks for it, not the file
			say(e.Error(), "")
			return statusUsage
		}
		input(stderr, e.Error(), caret(e.Source, e.Col), "")
		return statusInput
	}
	if e, ok := errors.AsType[*touch.Error](err); ok {
		input(stderr, e.Error(), caret(e.Source, 1), e.Hint)
		return statusInput
	}
	say(err.Error(), "")
	if _, ok := errors.AsType[*ioError](err); ok {
		return statusIO
	}
	return statusUsage
}

// input says what is wrong with a program or surface: the place, the line
// with a caret, and what to do.
func input(stderr io.Writer, what, caret, hint string) {
	fmt.Fprintln(stderr, what)
	if caret != "" {
		fmt.Fprintln(stderr, caret)
	}
	if hint != "" {
		fmt.Fprintln(stderr, hint)
	}
}

// caret shows a line of a surface as one of a program is shown.
func caret(source string, col int) string {
	if source == "" {
		return ""
	}
	return program.Caret(&program.SyntaxError{Place: program.Place{Source: source, Col: col}})
}

// unmet lists where the job cannot be done.
func unmet(stderr io.Writer, e *follow.UnmetError) {
	if e.NoBurn {
		fmt.Fprintf(stderr, "sagitta: %s: nothing burns in this program; is the beam word one of the profile's beam_on?\n", e.Name)
		return
	}
	for _, f := range e.Failures {
		fmt.Fprintf(stderr, "sagitta: %s:%d: %s\n", e.Name, f.Line, f)
	}
	if more := e.Count - len(e.Failures); more > 0 {
		fmt.Fprintf(stderr, "sagitta: and %d more\n", more)
	}
}

// undivided lists where the job cannot be divided.
func undivided(stderr io.Writer, e *zone.UnmetError) {
	if e.NoBurn {
		unmet(stderr, &follow.UnmetError{Name: e.Name, NoBurn: true})
		return
	}
	for _, f := range e.Failures {
		if f.Line > 0 {
			fmt.Fprintf(stderr, "sagitta: %s:%d: %s\n", e.Name, f.Line, f.What)
		} else {
			fmt.Fprintf(stderr, "sagitta: %s: %s\n", e.Name, f.What)
		}
	}
	if more := e.Count - len(e.Failures); more > 0 {
		fmt.Fprintf(stderr, "sagitta: and %d more\n", more)
	}
}
