package job

import (
	"bytes"
	"io"

	"sagitta/internal/fit"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Job is what a program is run with.
type Job struct {
	*Options
	// Machine is the profile, with the options that go over it, and Profiled
	// tells that one was given.
	Machine  *record.Machine
	Profiled bool
	// Config is how blocks become moves.
	Config machine.Config
	// Placed is the surface, in program XY.
	Placed *surface.Placed
	// Mesh is where on it a focus may be set.
	Mesh *setup.Mesh
	// Unsure is how far heights read from it are off, at most where they differ by place.
	Unsure Unsure
	// laid is the surface, and keepOut the file of the boxes.
	laid    *laid
	keepOut bytes.Buffer
	// Lenses are those given, in their order; at least one, but for MaybeLens.
	Lenses []Lens
	// Taken is what bench and surface take off a depth.
	Taken focus.Budget
	Head
	// found are places to set the focus at that were looked for.
	found map[focusOf]setup.FocusPoint
	// Fixture is the record of the fixture, nil where there is none, with its digest, and
	// Borne what was found of readings.
	Fixture       *record.Fixture
	FixtureDigest string
	Borne         *Borne
	// Rules are rules about burns, from TakeRules; its Burns are nil where there are none.
	Rules Rules
	// Places are where parts lie, nil where the program is that of no jig.
	Places []record.Place
}

// Source opens a file by the name that the settings have.
type Source func(name string) (io.ReadCloser, error)

// Want says what a job is made ready for.
type Want uint8

const (
	// OneLens takes one lens, with depth to use.
	OneLens Want = iota
	// AllLenses takes one or more, all with depth to use.
	AllLenses
	// AnyLens takes one or more of which one at least has depth to use; the
	// others are out. What is wanted of the defocus is each lens's own.
	AnyLens
	// MaybeLens takes one lens, with depth to use, or none.
	MaybeLens
)

// New reads the files that the settings name and works out what they lead to.
func New(open Source, o *Options, want Want) (*Job, error) {
	fixed, digest, open, err := o.fixed(open)
	if err != nil {
		return nil, err
	}
	if err := o.check(want); err != nil {
		return nil, err
	}
	if len(o.Lenses) > 1 && (want == OneLens || want == MaybeLens) {
		return nil, wrong("", "one lens at a time, not also %s", o.Lenses[1])
	}
	m, err := ReadMachine(open, o.Machine)
	if err != nil {
		return nil, err
	}
	j := &Job{Options: o, Machine: m, Profiled: o.Machine != "", Fixture: fixed, FixtureDigest: digest}
	if err := j.override(); err != nil {
		return nil, err
	}
	if err := j.readLenses(open, want); err != nil {
		return nil, err
	}
	if err := j.place(open, &j.Taken); err != nil {
		return nil, err
	}
	j.losses(&j.Taken)
	if err := j.usable(j.Taken, want); err != nil {
		return nil, err
	}
	var lens *record.Lens
	if len(j.Lenses) > 0 {
		lens = j.Lenses[0].Record
	}
	j.Head, err = ReadHead(func(name string) (io.ReadCloser, error) {
		in, err := open(name)
		return keeping{io.TeeReader(in, &j.keepOut), in}, err
	}, o.KeepOut, m, lens)
	j.FreedMM = o.Freed
	j.Head = j.Head.with(m, lens)
	if err == nil && o.Places != "" {
		j.Places, err = Read(open, o.Places, record.ReadPlaces)
	}
	if err == nil {
		err = holds(j, open, want)
	}
	return j, err
}

// keeping is a file of which a copy is kept.
type keeping struct {
	io.Reader
	io.Closer
}

// ReadMachine reads a machine profile, or takes the default one where none is
// given.
func ReadMachine(open Source, file string) (*record.Machine, error) {
	if file == "" {
		return record.DefaultMachine(), nil
	}
	return Read(open, file, record.ReadMachine)
}

// Read opens a file, has it read and closes it.
func Read[T any](open Source, name string, read func(io.Reader, string) (T, error)) (T, error) {
	in, err := open(name)
	if err != nil {
		var none T
		return none, err
	}
	defer in.Close()
	return read(in, name)
}

// Measured is the surface as its file has it.
func (j *Job) Measured() *surface.Surface { return j.laid.measured }

// NoiseMM is what touches of the surface scatter by, 0 where its file does not tell: its
// error has that already.
func (j *Job) NoiseMM() float64 { return j.laid.measured.Header().NoiseMM }

// override puts the options that go over the profile into it, and settles how
// blocks become moves. The head is to stand within reach, where it is said to.
func (j *Job) override() error {
	m := j.Machine
	if j.Given("z-rate") {
		m.ZRateMMMin = &j.ZRate
	}
	if j.Given("rapid") {
		m.RapidMMMin = j.Rapid
	}
	j.Config = m.Config(j.Start, j.StartZ)
	if f := j.Fixture; f != nil {
		j.Config.Work = f.Work()
	}
	if at, r := j.Start, reach(m); at != nil && r.Beyond(at[0], at[1]) > 0 {
		return wrong("", "--start %g,%g is %s mm beyond the reach of the axes (x_mm, y_mm)", at[0], at[1], phrase.Short(r.Beyond(at[0], at[1])))
	}
	return nil
}

// place lays the surface under the program.
func (j *Job) place(open Source, b *focus.Budget) error {
	l, err := Read(open, j.Surface, func(in io.Reader, _ string) (*laid, error) { return j.Kept.lay(in, j.Options, j.lay) })
	if err != nil {
		return err
	}
	if l.unsure.From == Assumed {
		j.Note(l.unsure.assumed(j.Surface))
	}
	b.SurfaceError = l.unsure.term(j.Surface)
	if least, greatest := l.surface.Errors(); greatest > least {
		b.GreatestError, b.SurfaceError.MM = b.SurfaceError, least
	}
	j.laid, j.Placed, j.Mesh, j.Unsure = l, l.placed, l.mesh, l.unsure
	return nil
}

// Heights is the surface with what is known of how sure it is.
func (j *Job) Heights() *surface.Surface { return j.laid.surface }

// Again lays another surface where that of the job lies.
func (j *Job) Again(s *surface.Surface) (*surface.Placed, error) {
	return surface.Place(s, j.laid.placement)
}

// Reading is how heights are read, by the name that gives the same again.
func (j *Job) Reading() string {
	if fit.Fits(j.Method) {
		return j.Method
	}
	return j.Placed.Method()
}

// DatumXY is where heights count from, in program XY; none where they count
// from the surface's zero.
func (j *Job) DatumXY() (at [2]float64, ofFile, ok bool) {
	if j.Datum != nil {
		return *j.Datum, false, true
	}
	d := j.Placed.Surface().Header().Datum
	if d == nil {
		return at, false, false
	}
	at[0], at[1] = j.Placed.Program(d[0], d[1])
	return at, true, true
}

// losses takes off the depth what the bench uses up.
func (j *Job) losses(b *focus.Budget) {
	m := j.Machine
	if m.FocusSettingMM != nil {
		b.FocusSetting = focus.Term{MM: *m.FocusSettingMM, From: "focus_setting_mm"}
	}
	if m.ZMoves == record.ZByHand {
		return // no Z is written
	}
	if m.ZBacklashMM != nil {
		b.Backlash = focus.Term{MM: *m.ZBacklashMM, From: "z_backlash_mm"}
	}
	b.HalfDecimal = focus.HalfDecimal(m.DecimalsMM(), m.DecimalsInch(), m.ZResolutionMM)
}
