package job

import (
	"cmp"
	"fmt"

	"sagitta/internal/fit"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Unsure is the standard uncertainty of heights read from a surface, in mm, where they are
// surest and where they are least so, and where it is from.
type Unsure struct {
	Least, MM float64
	From      Origin
}

// Origin is where an uncertainty is from.
type Origin string

const (
	// FromFile is of a file that says it, FromFit of a form that was fitted to the
	// heights, FromOption of --surface-error, and Assumed of leaving nodes out.
	FromFile, FromFit, FromOption, Assumed Origin = "file", "fit", "--surface-error", "assumed"
)

// unsure settles how far heights that were read are off, and gives the surface with that:
// of its place in the file where nothing else is said. What nobody says and nothing tells is
// asked for.
func (o *Options) unsure(l *fit.Loaded) (*surface.Surface, Unsure, error) {
	if o.Given("surface-error") {
		return l.WithError(o.SurfaceError), Unsure{o.SurfaceError, o.SurfaceError, FromOption}, nil
	}
	h := l.Header()
	least, greatest := l.Errors()
	switch {
	case l.Said:
		return l.Surface, Unsure{least, greatest, FromFile}, nil
	case l.Fitted && h.ErrorSaid:
		return l.Surface, Unsure{least, greatest, FromFit}, nil
	case l.Fitted:
		return nil, Unsure{}, o.ask("there are too few points to leave one out of the fit")
	}
	mm, err := fit.Assume(l.Surface, cmp.Or(o.Method, h.Method))
	if err != nil {
		return nil, Unsure{}, o.ask(err.Error())
	}
	mm = max(mm, h.NoiseMM)
	return l.WithError(mm), Unsure{mm, mm, Assumed}, nil
}

// ask wants to be told the uncertainty that cannot be estimated.
func (o *Options) ask(why string) error {
	return wrong("give --surface-error MM, or write # error_mm: MM into the file: how sure its heights are anywhere on it, as a standard uncertainty in mm; 0 says that they are exact",
		"%s: how far off its heights are between those measured is not known: %s", o.Surface, why)
}

// assumed says what is assumed of the heights in a file.
func (u Unsure) assumed(file string) string {
	return fmt.Sprintf("assumed: heights of %s are sure to %s mm (standard uncertainty, by leaving nodes out: the file says no # error_mm:)", file, phrase.Short(u.MM))
}

// term is what it takes off a depth.
func (u Unsure) term(file string) focus.Term {
	from := file
	switch u.From {
	case FromFit:
		from += ", by leaving points out"
	case FromOption:
		from = string(u.From)
	case Assumed:
		from = "assumed, by leaving out nodes of " + file
	}
	return focus.Term{MM: u.MM, From: from}
}

// String says it on a sheet, to be read after "heights are".
func (u Unsure) String() string {
	if u.MM == 0 {
		return "taken as exact" + u.said()
	}
	text := fmt.Sprintf("sure to %s mm", phrase.Short(u.MM))
	if u.Least < u.MM {
		text += " at least, " + phrase.Short(u.Least) + " mm where they are surest"
	}
	return text + u.said()
}

func (u Unsure) said() string {
	return map[Origin]string{FromFile: " (as the file says)", FromFit: " (by leaving points out)", FromOption: " (as was said)", Assumed: " (assumed, by leaving nodes out)"}[u.From]
}
