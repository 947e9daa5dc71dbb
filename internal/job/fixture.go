package job

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path/filepath"
	"strings"
	"time"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/recheck"
	"sagitta/internal/record"
	"sagitta/internal/touch"
	"sagitta/internal/zone/sheet"
)

// Borne is what readings of the stock as it lies now bear out.
type Borne struct {
	// Digest is that of their file, and Places how many were read.
	Digest string
	Places int
	// WorstMM is by how much the stock lies otherwise at worst.
	WorstMM float64
}

// FixtureFiles are the files that a fixture record names, by their names from where the
// record itself is named from.
func FixtureFiles(open Source, name string) ([]string, error) {
	f, err := Read(open, name, record.ReadFixture)
	if err != nil {
		return nil, err
	}
	list := []string{filepath.Join(filepath.Dir(name), f.Surface)}
	if f.KeepOut != "" {
		list = append(list, filepath.Join(filepath.Dir(name), f.KeepOut))
	}
	return list, nil
}

// fixed reads the fixture record, where one is named, and takes from it what no option
// says. The source that it gives opens what it says by itself, too.
func (o *Options) fixed(open Source) (f *record.Fixture, digest string, with Source, err error) {
	if o.Fixture == "" {
		for _, x := range []struct{ name, text string }{{"loaded", o.Loaded}, {"at", o.At}} {
			if x.text != "" {
				return nil, "", open, wrong("name its record with --fixture JIG.toml", "--%s is for stock in a fixture", x.name)
			}
		}
		return nil, "", open, nil
	}
	f, err = Read(open, o.Fixture, func(r io.Reader, name string) (*record.Fixture, error) {
		var text bytes.Buffer
		f, err := record.ReadFixture(io.TeeReader(r, &text), name)
		if err == nil {
			digest, err = sheet.DigestOf(&text)
		}
		return f, err
	})
	if err != nil {
		return nil, "", open, err
	}
	var over []string
	given := o.Given
	take := func(name string, says, same bool, from func()) {
		switch {
		case says && given(name) && !same:
			over = append(over, "--"+name)
		case says && !given(name):
			from()
		}
	}
	file := func(name, says string, of *string) {
		at := filepath.Join(filepath.Dir(o.Fixture), says)
		take(name, says != "", filepath.Clean(*of) == at, func() { *of = at })
	}
	place := func(name string, says *[2]float64, of **[2]float64) {
		take(name, says != nil, says != nil && *of != nil && **of == *says, func() { *of = says })
	}
	file("surface", f.Surface, &o.Surface)
	place("shift", f.ShiftMM, &o.Shift)
	place("datum", f.DatumMM, &o.Datum)
	file("keep-out", f.KeepOut, &o.KeepOut)
	inline := o.Fixture + boxesWithin
	take("keep-out", f.KeepOutMM != nil, false, func() { o.KeepOut = inline })
	turned := false
	take("rotate", f.RotateDeg != nil, f.RotateDeg != nil && o.Rotate == *f.RotateDeg, func() { o.Rotate, turned = *f.RotateDeg, true })
	o.Given = func(name string) bool { return given(name) || turned && name == "rotate" }
	if over != nil {
		o.Note(fmt.Sprintf("over what %s says: %s", o.Fixture, strings.Join(over, ", ")))
	}
	return f, digest, func(name string) (io.ReadCloser, error) {
		if name == inline {
			return io.NopCloser(strings.NewReader(f.KeepOutMM.CSV())), nil
		}
		return open(name)
	}, nil
}

// boxesWithin follows the name of a record where the boxes stand in it that it lists.
const boxesWithin = ", keep_out_mm"

// KeepOutFile reports whether the boxes stand in a file of their own.
func (o *Options) KeepOutFile() bool { return o.KeepOut != o.Fixture+boxesWithin }

// now is when ages are judged as of.
func (o *Options) now() (time.Time, error) {
	if o.At == "" {
		return time.Now(), nil
	}
	return parsed("at", o.At)
}

func parsed(option, text string) (time.Time, error) {
	t, ok := record.ParseTime(text)
	if !ok {
		return t, wrong("", "--%s %s: wants a date and time, as in 2026-11-05T14:30", option, text)
	}
	return t, nil
}

// unmet is that fixture or readings do not hold.
func unmet(hint, format string, args ...any) error {
	return diag.Errorf(diag.Unmet, hint, format, args...)
}

// holds holds the surface to the record of the fixture, and to readings: MaybeLens, for
// which stock is touched, is told how old it is, and judges by itself.
func holds(j *Job, open Source, want Want) error {
	if f := j.Fixture; f != nil {
		digest := "sha256:" + j.laid.measured.Source().Digest
		if of := j.laid.measured.Header().MadeOf; of != "" && of == f.SurfaceDigest {
			digest = of // with its stock as it lies at the places of a jig
		}
		switch {
		case f.SurfaceDigest == "":
			return unmet(fmt.Sprintf("if it is the one that was measured, write surface_digest = %q into the record", digest),
				"%s: the record does not say which file was measured, and %s may be another", j.Options.Fixture, j.Surface)
		case f.SurfaceDigest != digest:
			return unmet(fmt.Sprintf("take the file that was measured; or if this is a new measurement, write surface_digest = %q and the time of it into the record", digest),
				"%s: %s is not the surface that was measured: its digest is another than surface_digest", j.Options.Fixture, j.Surface)
		}
		at, err := j.now()
		if err != nil {
			return err
		}
		age, err := f.Age(at)
		if err != nil {
			err = within(j.Options.Fixture, err)
			if want != MaybeLens {
				return err
			}
			age = err.Error()
		}
		if f.WorkOffset != nil {
			age += "; its zero is that of " + *f.WorkOffset
		}
		j.Note(fmt.Sprintf("fixture %s: %s %s", f.Name, j.Surface, age))
	}
	if want == MaybeLens {
		return nil
	}
	if err := j.Options.readable(open, j.Fixture); err != nil || j.Readings == "" {
		return err
	}
	return borne(j, open)
}

// within puts the name of a record before an error.
func within(file string, err error) error {
	e := *diag.As(err)
	e.What = file + ": " + e.What
	return &e
}

// Timely reports, as an error of kind Unmet, what about a fixture and its readings has got
// too old, whatever else has changed.
func Timely(open Source, o *Options) error {
	f, err := Read(open, o.Fixture, record.ReadFixture)
	if err != nil {
		return err
	}
	at, err := o.now()
	if err != nil {
		return err
	}
	if _, err := f.Age(at); err != nil {
		return within(o.Fixture, err)
	}
	return o.readable(open, f)
}

// readable holds readings to when they were taken, where that counts.
func (o *Options) readable(open Source, f *record.Fixture) error {
	if f == nil || f.HeightsOf != record.OfBlank {
		if o.Loaded != "" {
			return wrong("leave it out", `--loaded is for a fixture with heights_of = "blank"`)
		}
		return nil
	}
	const touched = "touch a few places of it, which sagitta recheck PROGRAM chooses, and name the file with --readings (in a job file: readings = \"blank.log\")"
	if o.Readings == "" {
		return unmet(touched, "%s: each blank lies in its own way, and there are no readings of this one", o.Fixture)
	}
	if o.Loaded == "" {
		return unmet(`say it with --loaded 2026-11-05T14:30 (in a job file: loaded = "2026-11-05T14:30")`, "%s: nobody says when the blank was loaded, so %s may be of another", o.Fixture, o.Readings)
	}
	loaded, err := parsed("loaded", o.Loaded)
	if err != nil {
		return err
	}
	taken, said, err := takenAt(open, o.Readings)
	if err != nil {
		return err
	}
	at, err := o.now()
	if err != nil {
		return err
	}
	switch {
	case taken.IsZero():
		return unmet("write # taken: 2026-11-05T14:40, the time of that, into it", "%s: nothing tells when its readings were taken", o.Readings)
	case said && at.Before(taken):
		return unmet("correct the time, or the clock", "%s: its readings are of %s, which is to come: it is %s", o.Readings, record.At(taken), record.At(at))
	case taken.Before(loaded):
		return unmet(touched, "%s: its readings are of %s, before the blank was loaded at %s", o.Readings, record.At(taken), record.At(loaded))
	case f.MeasuredAt != nil && taken.Before(*f.MeasuredAt):
		return unmet(touched, "%s: its readings are of %s, before the surface was measured at %s", o.Readings, record.At(taken), record.At(*f.MeasuredAt))
	case f.ReadingsAgeHours != nil && at.Sub(taken).Hours() > *f.ReadingsAgeHours:
		return unmet(touched, "%s: its readings are of %s, and count for %s h; it is %s", o.Readings, record.At(taken), phrase.Trimmed(*f.ReadingsAgeHours, 2), record.At(at))
	}
	if !said {
		o.Note(fmt.Sprintf("assumed: %s was taken when the file was last written, %s: it has no line # taken: TIME", o.Readings, record.At(taken)))
	}
	return nil
}

// takenKey is the line of a file of readings that says when they were taken.
const takenKey = "# taken:"

// takenAt is when readings were taken, and whether their file says so: else it is when that
// was last written, zero where that is not known either. A file that was written before the
// blank was loaded cannot be of it.
func takenAt(open Source, name string) (at time.Time, said bool, err error) {
	_, err = Read(open, name, func(r io.Reader, name string) (none struct{}, err error) {
		text, err := io.ReadAll(io.LimitReader(r, mostReadings))
		if err != nil {
			return none, err
		}
		for line := range bytes.Lines(text) {
			rest, is := strings.CutPrefix(strings.TrimSpace(string(line)), takenKey)
			if rest = strings.TrimSpace(rest); !is || rest == "" {
				continue
			}
			if at, said = record.ParseTime(rest); !said {
				return none, wrong("", "%s: %s %s: wants a date and time, as in 2026-11-05T14:30", name, takenKey, rest)
			}
			return none, nil
		}
		if f, ok := r.(interface{ Stat() (fs.FileInfo, error) }); ok {
			if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
				at = info.ModTime()
			}
		}
		return none, nil
	})
	return at, said, err
}

// mostReadings bounds how far into a file of readings that line is looked for.
const mostReadings = 1 << 20

// Question is what is asked of readings of the stock under a program.
func Question(j *Job, name string, r *touch.Reading) *recheck.Question {
	q := &recheck.Question{Turn: Turn(j.Machine), Name: name, Surface: j.Placed, ErrorMM: j.Taken.SurfaceError.MM, TouchMM: cmp.Or(r.Header.NoiseMM, j.NoiseMM())}
	if at, _, ok := j.DatumXY(); ok {
		q.Datum = &at
	}
	q.Allowed = recheck.Allowed(j.Taken, j.NoiseMM(), len(j.Lenses) > 0)
	return q
}

// borne judges readings.
func borne(j *Job, open Source) error {
	r, err := Read(open, j.Readings, func(r io.Reader, name string) (*touch.Reading, error) { return touch.Read(r, name, touch.Options{}) })
	if err != nil {
		return err
	}
	q, a, err := Judge(j, j.Readings, r)
	if err != nil {
		return err
	}
	j.Borne = &Borne{Digest: "sha256:" + r.Digest, Places: len(a.Reads), WorstMM: math.Abs(a.Worst.OffMM)}
	worst := fmt.Sprintf("%s mm off at worst, at %s, and %s mm are reckoned with", phrase.Signed(a.Worst.OffMM, 3), phrase.XY(a.Worst.At[0], a.Worst.At[1]), phrase.MM(q.Allowed.MM))
	if a.Holds() {
		j.Note(fmt.Sprintf("%s: %s of the stock bear out %s: %s", j.Readings, phrase.Count(len(a.Reads), "place"), j.Surface, worst))
		return nil
	}
	var causes []string
	for k := range a.Causes {
		causes = append(causes, a.Causes[k].Text(q, a.Reads))
	}
	if a.Again != nil {
		causes = append(causes, "a place reads otherwise when it is touched again")
	}
	return unmet("sagitta recheck with --readings says more, and with -o writes the surface as it lies now",
		"%s: the stock does not lie as %s was measured: %s; %s", j.Readings, j.Surface, worst, strings.Join(causes, "; or "))
}
