package cli

import (
	"fmt"
	"io"
	"path/filepath"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/verify"
)

// verifySet proves a folder of zones against its original.
func (s *session) verifySet(o *settings, dir, against string) error {
	if against == "" {
		return usagef("give the program that it was made from with --against", "%s is a folder: a set of zones is proved against its original", dir)
	}
	l, err := s.load(o, against)
	if err != nil {
		return err
	}
	lenses, err := s.loadLenses(l)
	if err != nil {
		return err
	}
	set, err := s.readSet(dir)
	if err != nil {
		return err
	}
	if set.Rehearsal {
		return usagef("split without --rehearsal makes the set to prove", "%s is a set of rehearsals: nothing in it burns", dir)
	}
	orig, err := s.files.Open(against)
	if err != nil {
		return err
	}
	defer orig.Close()
	if err := s.files.CheckOutputs(o.summary); err != nil {
		return err
	}
	res, err := s.judgeSet(l, lenses, set, dir, orig, against)
	if err != nil {
		return err
	}
	s.files.ClearProgress()
	if o.summary != "" {
		if err := s.writeFigures(o.summary, l.setFigures(set, res, dir)); err != nil {
			return err
		}
	}
	tellSet(s.stderr, l, dir, set, res)
	if !res.Holds() {
		return notHeld{}
	}
	return nil
}

// readSet reads the list of the zones in a folder.
func (s *session) readSet(dir string) (*verify.Set, error) {
	list := filepath.Join(dir, "set.json")
	in, err := s.files.Open(list)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return verify.ReadSet(in, list)
}

// judgeSet holds the zones' programs in a folder to the original.
func (s *session) judgeSet(l *loaded, lenses []lensDepths, set *verify.Set, dir string, orig io.Reader, name string) (*verify.SetResult, error) {
	// One depth in place of a lens serves whatever the zones name.
	any := l.lens == nil
	depth := func(lens string) (focus.Depth, error) {
		for _, n := range lenses {
			if n.name == lens || any {
				return n.checking, nil
			}
		}
		return focus.Depth{}, usagef("give its record with -l", "%s: a zone is for lens %s, which was not given", filepath.Join(dir, "set.json"), lens)
	}
	open := func(program string) (io.ReadCloser, error) {
		return s.files.Open(filepath.Join(dir, program))
	}
	res, err := verify.RunSet(set, open, depth, orig, name, l.verifyOptions())
	if err != nil {
		return nil, s.files.Err(err)
	}
	return res, nil
}

func tellSet(w io.Writer, l *loaded, dir string, set *verify.Set, r *verify.SetResult) {
	tellNoProfile(w, l)
	tellDepth(w, l, focus.Checking)
	shown := 0
	show := func(where string, res *verify.Result) {
		for _, f := range res.Failures {
			if shown++; shown <= mostFailuresTold {
				fmt.Fprintf(w, "sagitta: %s: %s\n", where, f)
			}
		}
	}
	show(dir, &r.Whole)
	for i, z := range r.Zones {
		show(filepath.Join(dir, set.Zones[i].Program), z)
	}
	n := r.FailureCount()
	if more := n - min(shown, mostFailuresTold); more > 0 {
		fmt.Fprintf(w, "sagitta: and %d more\n", more)
	}
	fmt.Fprintf(w, "sagitta: the original has %s, %s mm long\n", phrase.Count(r.Burns, "burn"), short(r.BurnLengthMM))
	for i, z := range r.Zones {
		if i == mostZonesTold {
			fmt.Fprintf(w, "sagitta: and %d more zones\n", len(r.Zones)-i)
			break
		}
		fmt.Fprintf(w, "sagitta: zone %d: %s, %s mm long, over heights from %s to %s mm; greatest defocus %+.3f mm at X%.3f Y%.3f, line %d\n",
			i+1, phrase.Count(z.Burns, "burn"), short(z.BurnLengthMM), mm(z.Lowest.MM), mm(z.Highest.MM), z.Defocus.MM, z.Defocus.X, z.Defocus.Y, z.Defocus.Line)
	}
	for i, z := range r.Zones[:min(len(r.Zones), mostZonesTold)] {
		for _, note := range z.Notes {
			fmt.Fprintf(w, "sagitta: zone %d: %s\n", i+1, note)
		}
	}
	fmt.Fprintln(w, "sagitta: the clearance of the head beside the beam was not checked")
	verdict := "it holds: every burn once, in focus, and travels clear"
	if n > 0 {
		verdict = "it does not hold: " + phrase.Count(n, "failure")
	}
	fmt.Fprintf(w, "sagitta: %s: %s\n", dir, verdict)
}

// mostFailuresTold is how many failures of a set are listed.
const mostFailuresTold = 20

type setFigures struct {
	Burns        int             `json:"burns"`
	BurnLengthMM float64         `json:"burn_length_mm"`
	FailureCount int             `json:"failure_count"`
	Zones        []verifyFigures `json:"zones"`
}

func (l *loaded) setFigures(set *verify.Set, r *verify.SetResult, dir string) *figures {
	g := l.figures("verify", dir, "")
	g.Verdict = "holds"
	if !r.Holds() {
		g.Verdict = "fails"
	}
	f := setFigures{Burns: r.Burns, BurnLengthMM: r.BurnLengthMM, FailureCount: r.FailureCount()}
	for _, x := range r.Whole.Failures {
		g.Fails = append(g.Fails, x.String())
	}
	for i, z := range r.Zones {
		for _, x := range z.Failures {
			g.Fails = append(g.Fails, set.Zones[i].Program+": "+x.String())
		}
		v := l.verifyFigures(z, set.Zones[i].Program, "").Figures.(verifyFigures)
		f.Zones = append(f.Zones, v)
	}
	g.Figures = f
	return g
}
