package zone

import (
	"bytes"
	"slices"

	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// BetweenError says that a program switches, waits or ends between burns that go to
// several programs, or to parts of one with stops: its burns would run in another state
// than they do in the original. It wraps a *diag.Error with the first place.
type BetweenError struct{ error }

// Unwrap returns the *diag.Error.
func (e *BetweenError) Unwrap() error { return e.error }

// setsLine is M110, which sets the line number and switches nothing.
const setsLine = 110

// between is the error for a block between burns of which only one program could have
// what it switches; nil where it may go to any. Beam, air and modes are restored
// wherever they matter.
func (o *Options) between(it *stream.Item) error {
	if it.IsRun() {
		return nil
	}
	a, b := &it.Actions, &it.Block
	const (
		why  = " stands between burns, and split cannot say in which of its programs it belongs"
		hint = "divide the program there by hand"
	)
	refuse := func(at int, what, hint string) error {
		return &BetweenError{b.Unsupported(at, what, hint)}
	}
	if body := b.Body(); len(b.Words) == 0 {
		if text := bytes.TrimLeft(body, " \t"); len(text) > 0 && text[0] == '$' {
			return refuse(len(body)-len(text), "a setting of the controller"+why, hint)
		}
	}
	for i := range b.Words {
		w := &b.Words[i]
		name := string(w.Letter) + w.Num.Trim().String()
		switch {
		case w.Letter == 'T':
			return refuse(w.Start, name+why, hint)
		case w.Letter != 'M' || !(a.Passed | a.Unknown | a.Stop.Set()).Has(i):
		case a.Stop.Set().Has(i) && a.Ends:
			return refuse(w.Start, name+" ends a program before the last burn, and split cannot divide several at once", "split each of them by itself")
		case a.Stop.Set().Has(i):
			return refuse(w.Start, name+" waits between burns, and split cannot say in which of its programs it belongs", hint+", or take the wait out")
		case !o.mayStand(w):
			return refuse(w.Start, name+why, hint+", or list the word in harmless of the machine profile if it switches nothing")
		}
	}
	return nil
}

// mayStand reports whether an M word may go to any one of the programs.
func (o *Options) mayStand(w *program.Word) bool {
	n, whole := w.Num.At(0)
	return whole && (n.Mant == setsLine || slices.Contains(o.Harmless, int(n.Mant)))
}

// takeBetween notes the first block that a job of several programs may not have
// between its burns, or on the line of one.
func (s *surveyor) takeBetween(it *stream.Item) {
	switch burns := it.Move.Burn; {
	case s.between != nil || !burns && (s.Burns == 0 || s.behind != nil):
	case !burns:
		s.behind = s.opt.between(it)
	case s.behind != nil:
		s.between = s.behind
	case it.Actions.Ends: // which may be the last burn
		s.behind = s.opt.between(it)
	default:
		s.between = s.opt.between(it)
	}
}
