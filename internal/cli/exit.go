package cli

import (
	"errors"
	"fmt"
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

// statusOf are the statuses of errors by their kind.
var statusOf = map[diag.Kind]int{
	diag.Malformed:   statusInput,
	diag.Unsupported: statusInput,
	diag.Setting:     statusUsage,
	diag.Unmet:       statusDoesNotHold,
	diag.IO:          statusIO,
}

// errNotHeld is that a check did not hold; everything has been said already.
var errNotHeld = errors.New("it does not hold")

// saidStatus is a status of which everything has been said already.
type saidStatus int

func (s saidStatus) Error() string { return fmt.Sprintf("status %d", int(s)) }

// exit says what is wrong with err and gives the status.
func exit(voice say.Voice, err error) int {
	if err == nil {
		return statusDone
	}
	if errors.Is(err, files.ErrInterrupted) {
		voice.Line("interrupted; nothing was written")
		return statusInterrupted
	}
	if status, all := errors.AsType[saidStatus](err); all {
		return int(status)
	}
	if errors.Is(err, errNotHeld) {
		return statusDoesNotHold
	}
	if e, ok := errors.AsType[diag.Listing](err); ok {
		voice.Lines(e.Lines())
		return statusDoesNotHold
	}
	e := diag.As(err)
	if e == nil {
		e = &diag.Error{Kind: diag.Setting}
		if _, ok := errors.AsType[*fs.PathError](err); ok {
			e.Kind = diag.IO
		}
	}
	status, prefix := statusOf[e.Kind], "sagitta: "
	if status == statusInput {
		prefix = ""
	}
	text := prefix + err.Error() + "\n"
	if caret := e.Caret(); caret != "" {
		text += caret + "\n"
	}
	if e.Hint != "" {
		text += prefix + e.Hint + "\n"
	}
	voice.Text(text)
	return status
}
