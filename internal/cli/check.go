package cli

import (
	"io"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/report"
	"sagitta/internal/report/trace"
	"sagitta/internal/setup"
	"sagitta/internal/verify"
)

// checkOptions are those of every command that has a program or a folder of zones
// proved.
type checkOptions struct {
	options
	burnsOptions
	Against   string  `opt:"against" file:"program" is:"the program that it was made from, a <FILE>"`
	Rehearsal bool    `opt:"rehearsal" is:"the program is a rehearsal: the beam is to be off throughout"`
	Sheet     string  `opt:"sheet"`
	Focus     float64 `opt:"focus" in:"[-1000,1000]" wants:"mm from -1000 to 1000" is:"where the focus is set, in <MM> over the datum, for a program that runs flat (default: at the datum)"`
}

// checked is what a check came to.
type checked struct {
	*run
	say.Check
	// sheet is the bench sheet where it is to be a file called sheetFile, and err is that of
	// a check that could not be done.
	sheet     []files.Made
	sheetFile string
	err       error
	// trace is what was kept of the path, where there are further results that want it.
	trace *trace.Trace
	// original is what it was checked against, nil where there was none.
	original *files.Input
}

// check has a program or a folder proved. more are further results of the command.
func (o *checkOptions) check(s *session, name string, more ...string) (*checked, error) {
	at := s.files.Folder(name)
	files.Restore(at)
	if files.IsFolder(at) {
		return o.checkSet(s, name, more)
	}
	return o.checkProgram(s, name, more)
}

// checkProgram proves a program.
func (o *checkOptions) checkProgram(s *session, name string, more []string) (*checked, error) {
	r, err := s.prepare(&o.options, job.OneLens, name, o.Against)
	if err != nil {
		return nil, err
	}
	if err := o.take(r, name, o.Against); err != nil {
		return nil, err
	}
	c := &checked{run: r, sheetFile: o.Sheet, Check: say.Check{Job: r.job, Name: name, Original: o.Against, Rehearsal: o.Rehearsal}}
	open := s.files.Open
	if r.inert() {
		open = s.files.OpenTwice // to be timed as well
	}
	var original io.Reader
	if o.Against != "" {
		if c.original, err = open(o.Against); err != nil {
			return nil, err
		}
		original = c.original
	}
	if err := r.read(open, name, append(more, o.Sheet)...); err != nil {
		return nil, err
	}
	opt, with := r.job.Verify(), job.Setup{Job: r.job}
	if s.given("focus") {
		opt = r.job.VerifyAt(o.Focus)
		with.Marks = setup.NewMarks(r.job.Placed)
		opt.Burned = with.Marks.Move
	}
	opt.Rehearsal = o.Rehearsal
	if len(more) > 0 { // they tell what was checked
		r.program.KeepDigest()
		if c.original != nil {
			c.original.KeepDigest()
		}
	}
	var kept *job.Tracing
	if len(more) > 0 {
		var focus *float64
		if s.given("focus") {
			focus = &o.Focus
		}
		kept = r.job.Traced(&opt, name, r.program, focus, c.original != nil)
	}
	res, err := verify.Run(r.program, name, original, o.Against, opt)
	c.Program = res
	if err != nil {
		c.err = err
		return c, nil
	}
	if kept != nil {
		if c.trace, err = kept.Trace(); err != nil {
			return nil, err
		}
	}
	if r.inert() && !o.Rehearsal {
		if err := c.time(); err != nil {
			return nil, err
		}
	}
	if c.Setting = with.Setting(res.First); s.given("focus") {
		by := r.job.LoweredBy(o.Focus)
		if res.Burns == 0 {
			by = 0
		}
		res.Lowest.MM, res.Highest.MM, with.Low = res.Lowest.MM+by, res.Highest.MM+by, res.Lowest.MM+by
		c.Setting = with.SettingAt(o.Focus, nil, res.First)
	}
	if res.Holds() {
		c.sheet, err = r.sheet(o.Sheet, nil, c.Sheet)
	}
	return c, err
}

// time works out what burns slower on a bench with inertia.
func (c *checked) time() (err error) {
	var original io.ReaderAt
	if c.original != nil {
		original = c.original
	}
	if c.Times, err = c.run.times(c.run.program, c.Name, original, c.Original); err != nil {
		return err
	}
	c.Program.Notes = append(c.Program.Notes, c.Times.Lines(c.Name)...)
	return nil
}

// checkSet proves a folder of zones against its original, by what it holds and what is
// given over that.
func (o *checkOptions) checkSet(s *session, dir string, more []string) (*checked, error) {
	if o.Sheet != "" {
		return nil, usagef("leave --sheet out, and print the folder's own", "--sheet is for a program, and %s holds a sheet", dir)
	}
	if s.given("focus") {
		return nil, usagef("leave --focus out", "--focus is for a program, and %s holds where the focus is set", dir)
	}
	for _, x := range []string{"fixture", "readings", "loaded", "at"} {
		if s.given(x) {
			return nil, usagef("leave --"+x+" out", "--%s is for a program, and %s holds what it was made by", x, dir)
		}
	}
	f, err := job.ReadFolder(s.open, dir)
	if err != nil {
		return nil, err
	}
	f.At = s.files.Folder(dir)
	if f.Rehearsal {
		return nil, usagef("split without --rehearsal makes the set to prove", "%s is a set of rehearsals: nothing in it burns", dir)
	}
	instead, err := f.Recall(s.open, &o.Options, s.given)
	if err != nil {
		return nil, err
	}
	if o.Against == "" {
		if o.Against, err = f.FindOriginal(s.open); err != nil {
			return nil, err
		}
	}
	r, err := s.ready(f.Open(s.open), &o.options, job.AllLenses, o.Against)
	if err != nil {
		return nil, f.Placed(err)
	}
	if o.Burns != "" {
		instead = append(instead, "--burns "+o.Burns)
		err = o.take(r, o.Against)
	} else {
		err = f.Rules(r.job)
	}
	if err != nil {
		return nil, err
	}
	original, err := s.files.OpenTwice(o.Against)
	if err != nil {
		return nil, err
	}
	original.KeepDigest()
	if err := s.files.CheckOutputs(append(more, o.Summary)...); err != nil {
		return nil, err
	}
	c := &checked{run: r, original: original, Check: say.Check{Job: r.job, Name: dir, Original: o.Against, Zones: f.Set, Instead: instead}}
	if len(more) > 0 {
		c.Set, c.trace, c.err = r.job.VerifySetTraced(s.open, f, original, o.Against)
	} else {
		c.Set, c.err = r.job.VerifySet(s.open, f, original, o.Against)
	}
	if c.err == nil && !f.MadeFrom(original.Sum()) {
		c.Set.Whole.Note("%s is not the file that the set was made from", o.Against)
	}
	return c, nil
}

// end puts what a command has made of a check in its place, and says what was found.
func (c *checked) end(command string, made ...files.Made) error {
	if err := c.finish(command, c.Name, c.err, c.Fill, append(made, c.sheet...)...); err != nil {
		return err
	}
	v := c.session.say
	v.Checked(&c.Check)
	if c.sheet != nil {
		v.Made("bench sheet", c.sheetFile)
	} else if c.sheetFile != "" {
		v.Line("no bench sheet is written: it is for what holds")
	}
	return nil
}

type verifyOptions struct {
	checkOptions
	plotOptions
}

func (o *verifyOptions) run(s *session, args []string) error {
	if err := o.plotOptions.check(o.Rehearsal); err != nil {
		return err
	}
	var more []string
	if o.Plot != "" {
		more = []string{o.Plot}
	}
	c, err := o.checkOptions.check(s, args[0], more...)
	if err != nil {
		return err
	}
	if o.Plot != "" && c.err == nil {
		by := report.ByDefocus
		if c.Zones != nil {
			by = report.ByZone
		}
		if err := c.draw(o.Plot, by, c.Drawn(c.trace)); err != nil {
			return err
		}
	}
	if err := c.end("verify"); err != nil {
		return err
	}
	s.say.Made("picture", o.Plot)
	return held(c)
}

// held is nil where a check held.
func held(result interface{ Holds() bool }) error {
	if result.Holds() {
		return nil
	}
	return errNotHeld
}
