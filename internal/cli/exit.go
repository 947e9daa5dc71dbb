package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
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

// usagef is a fault of the command line.
func usagef(hint, format string, args ...any) error {
	return diag.Errorf(diag.Setting, hint, format, args...)
}

// notHeld tells that a check did not hold; everything has been said already.
type notHeld struct{}

func (notHeld) Error() string { return "it does not hold" }

// exit says what is wrong with err and gives the status.
func exit(stderr io.Writer, err error) int {
	voice := say.Voice{W: stderr}
	if err == nil {
		return statusDone
	}
	if errors.Is(err, files.ErrInterrupted) {
		voice.Line("interrupted; nothing was written")
		return statusInterrupted
	}
	if _, ok := errors.AsType[notHeld](err); ok {
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[diag.Listing](err); ok {
		for line := range e.Lines() {
			voice.Line("%s", line)
		}
		return statusDoesNotHold
	}
	e := diag.As(err)
	if e == nil {
		e = &diag.Error{Kind: diag.Setting}
		if _, ok := errors.AsType[*fs.PathError](err); ok {
			e.Kind = diag.IO
		}
	}
	prefix := "sagitta: "
	if e.Kind == diag.Malformed || e.Kind == diag.Unsupported {
		prefix = ""
	}
	fmt.Fprintf(stderr, "%s%v\n", prefix, err)
	if caret := e.Caret(); caret != "" {
		fmt.Fprintln(stderr, caret)
	}
	if e.Hint != "" {
		fmt.Fprintf(stderr, "%s%s\n", prefix, e.Hint)
	}
	switch e.Kind {
	case diag.Malformed, diag.Unsupported:
		return statusInput
	case diag.Unmet:
		return statusDoesNotHold
	case diag.IO:
		return statusIO
	}
	return statusUsage
}
