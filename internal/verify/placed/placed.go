package placed

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// Place is where a part lies: its X0 Y0 in mm, and by how many degrees it is turned about
// that, counter-clockwise. Number is what it is called.
type Place struct {
	Number          int
	X, Y, RotateDeg float64
}

// Options say how both are read, and how far apart places may be, in mm: a last decimal.
type Options struct {
	Machine   machine.Config
	Name      string // of the program of one part
	AllName   string // of that of all
	LateralMM float64
}

// act is what a block does: a motion, a wait, or words that change nothing that is followed.
type act struct {
	machine.Move
	beam        machine.Beam
	mist, flood bool
	path        machine.GCode
	known       bool  // where it leads to over XY
	stop        int64 // M0, M1, M60; -1 for none
	words       string
	at          diag.Place
}

// walker gives the acts of a program.
type walker struct {
	r  *program.Reader
	ip *machine.Interpreter
	c  *machine.Config
	m  machine.Move
}

func newWalker(r io.Reader, name string, c *machine.Config) *walker {
	return &walker{r: program.NewReader(r, name), ip: machine.New(*c), c: c}
}

// next gives the next act, io.EOF at the end.
func (w *walker) next(a *act) error {
	for {
		b, err := w.r.Next()
		if err != nil {
			return err
		}
		if err := w.ip.Step(b, &w.m); err != nil {
			return err
		}
		did, st := w.ip.Actions(), w.ip.During()
		*a = act{Move: w.m, beam: st.Beam, mist: st.Mist, flood: st.Flood, path: st.Path, known: st.XKnown && st.YKnown, stop: -1, at: b.Place(0)}
		if did.Stop != 0 && !did.Ends {
			a.stop = did.Stop.In(b).Num.Mant
		}
		a.words = ""
		for i := range b.Words {
			word := &b.Words[i]
			own := (did.Unknown | did.Passed).Has(i) || word.Letter == 'T' || did.OfUnknown(b, i)
			if own {
				if a.words != "" {
					a.words += " "
				}
				a.words += string(word.Letter) + word.Num.Trim().String()
			}
		}
		if a.Kind != machine.Still || a.stop >= 0 || a.words != "" {
			return nil
		}
	}
}

// Run walks both. The error is a *diag.Error: of the program of one part where it does
// something else at a place than by itself.
func Run(open func() (io.ReadCloser, error), all io.Reader, places []Place, opt Options) error {
	whole := newWalker(all, opt.AllName, &opt.Machine)
	for k := range places {
		if err := part(open, whole, &places[k], k == 0, &opt); err != nil {
			return err
		}
	}
	var more act
	switch err := whole.next(&more); {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		return err
	}
	return opt.differs(&more, places[len(places)-1], "the program of all parts goes on behind the last")
}

func part(open func() (io.ReadCloser, error), whole *walker, p *Place, first bool, opt *Options) error {
	in, err := open()
	if err != nil {
		return err
	}
	defer in.Close()
	one := newWalker(in, opt.Name, &opt.Machine)
	sin, cos := sincos(p.RotateDeg)
	j := judge{opt, p, sin, cos}
	var want, got act
	for begun := false; ; {
		switch err := one.next(&want); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
		for first := ""; ; {
			switch err := whole.next(&got); {
			case errors.Is(err, io.EOF):
				return opt.differs(&want, *p, cmp.Or(first, "it is missing there"))
			case diag.As(err) != nil:
				return opt.differs(&want, *p, "there "+diag.As(err).What)
			case err != nil:
				return err
			}
			what := j.compare(&want, &got, !begun)
			if first = cmp.Or(first, what); what == "" {
				what = j.way(&want, &got, !begun)
			}
			if what == "" {
				break
			}
			comes := !begun && got.Kind == machine.Line && got.Rapid && !got.Burn && got.beam != machine.On && got.words == "" && got.stop < 0
			if !comes {
				return opt.differs(&want, *p, cmp.Or(first, what))
			}
		}
		begun = begun || want.Kind == machine.Arc || want.Kind == machine.Line && want.Length > 0 && !want.FromUnknown
	}
}

// sincos is exact for quarters of a turn.
func sincos(deg float64) (sin, cos float64) {
	switch q := math.Mod(deg, 360); q {
	case 0:
		return 0, 1
	case 90, -270:
		return 1, 0
	case 180, -180:
		return 0, -1
	case 270, -90:
		return -1, 0
	default:
		return math.Sincos(q * math.Pi / 180)
	}
}

// At is where a place of the part's program lies, which is turned by so many degrees about
// its X0 Y0 at atX, atY.
func At(x, y, atX, atY, deg float64) (float64, float64) {
	sin, cos := sincos(deg)
	return cos*x - sin*y + atX, sin*x + cos*y + atY
}

// differs is that something is not the same at a place.
func (o *Options) differs(at *act, p Place, what string) error {
	return &diag.Error{Kind: diag.Unsupported, Place: at.at,
		What: fmt.Sprintf("at place %d this does something else than by itself: %s", p.Number, what),
		Hint: "say before the first motion of the program what it counts on: units, G90 or G91, F, power, the beam word, the path mode"}
}

// judge holds acts to each other.
type judge struct {
	*Options
	*Place
	sin, cos float64
}

// placed is where a place of the part lies.
func (j *judge) placed(x, y float64) (px, py float64) {
	return j.cos*x - j.sin*y + j.X, j.sin*x + j.cos*y + j.Y
}

const (
	// sameZ in mm is within what heights are alike: they are written as they were.
	sameZ = 1e-6
	// sameRate is by which part feeds, powers and times of dwells may differ: none is written
	// anew, and this is far below any of their decimals.
	sameRate = 1e-9
	// arcFactor is how much more than its ends the middle of an arc may lie beside: its
	// centre is rounded, too.
	arcFactor = 3
)

// compare says how an act differs, "" where it does not. Where the part has not begun, what
// it comes from may be anywhere.
func (j *judge) compare(want, got *act, begins bool) string {
	rate := func(a, b float64) bool { return math.Abs(a-b) <= sameRate*max(1, math.Abs(a)) }
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	switch {
	case want.stop != got.stop:
		return "it waits there, or does not"
	case want.words != got.words:
		return "it says " + cmp.Or(got.words, "nothing") + " instead of " + cmp.Or(want.words, "nothing")
	case want.Kind == machine.Still && got.Kind == machine.Still:
		return ""
	case want.Kind != got.Kind || want.Rapid != got.Rapid:
		return "it is another motion"
	case want.Burn != got.Burn:
		return map[bool]string{true: "it burns", false: "it does not burn"}[got.Burn]
	case got.beam == machine.On && want.beam != machine.On:
		return "the beam is on"
	case want.Burn && !rate(want.Power, got.Power):
		return "power " + number(got.Power) + " instead of " + number(want.Power)
	case want.Burn && want.PowerFollows != got.PowerFollows:
		return "the power follows speed otherwise"
	case !rate(want.Feed, got.Feed):
		return "feed " + number(got.Feed) + " instead of " + number(want.Feed)
	case want.Kind == machine.Dwell && !rate(want.Seconds, got.Seconds):
		return "it waits " + number(got.Seconds) + " s instead of " + number(want.Seconds)
	case want.mist != got.mist || want.flood != got.flood:
		return "the coolant is on or off"
	case want.path != got.path:
		return "under another path mode"
	case want.ZUnknown != got.ZUnknown || want.Lost != got.Lost:
		return "its way is known otherwise"
	case math.Abs(want.To.Z-got.To.Z) > sameZ || !begins && math.Abs(want.From.Z-got.From.Z) > sameZ:
		return "Z " + number(got.To.Z) + " instead of " + number(want.To.Z)
	}
	return ""
}

// way holds the way over XY to that of the part.
func (j *judge) way(want, got *act, begins bool) string {
	if want.FromUnknown || want.Kind == machine.Still {
		if want.Kind == machine.Still || !want.known || !got.known {
			return "" // where it leads to is held with what follows
		}
		x, y := j.placed(want.To.X, want.To.Y)
		return j.near(got.To.X, got.To.Y, x, y, 1)
	}
	for _, s := range [...]float64{0, 0.25, 0.5, 0.75, 1} {
		if begins && !want.Burn && want.Kind == machine.Line && s < 1 {
			continue
		}
		on, is := want.XY(s), got.XY(s)
		x, y := j.placed(on[0], on[1])
		factor := 1.0
		if s > 0 && s < 1 && want.Kind == machine.Arc {
			factor = arcFactor
		}
		if what := j.near(is[0], is[1], x, y, factor); what != "" {
			return what
		}
	}
	if want.Kind == machine.Arc && math.Signbit(want.Sweep) != math.Signbit(got.Sweep) {
		return "the arc goes round the other way"
	}
	return ""
}

// near says that a place is not where it is to be.
func (j *judge) near(x, y, wantX, wantY, factor float64) string {
	if math.Abs(x-wantX) <= factor*j.LateralMM && math.Abs(y-wantY) <= factor*j.LateralMM {
		return ""
	}
	return fmt.Sprintf("X%.4f Y%.4f instead of X%.4f Y%.4f", x, y, wantX, wantY)
}
