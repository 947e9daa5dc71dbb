package record

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
)

// Fixture is a fixture record: where stock lies that is held in the same place time and
// again, what stands around it, and how long its measured heights count. Unset numbers are
// nil. Names lead from the folder that the record stands in, and none out of it.
type Fixture struct {
	Name             string      `toml:"name" as:"\"jig\"" is:"what the fixture is called; unset: the file's name"`
	Surface          string      `toml:"surface" as:"\"jig.csv\"" is:"measured heights, a CSV file; its name leads from the folder of this record"`
	SurfaceDigest    string      `toml:"surface_digest" as:"\"sha256:0123…\"" is:"the digest of that file as it was measured, so that no other is taken for it: what sha256sum says"`
	MeasuredAt       *time.Time  `toml:"measured" as:"2026-11-05T14:30:00+01:00" is:"when it was measured; without +01:00 by the clock here, a date alone from its beginning"`
	GreatestAgeDays  *float64    `toml:"greatest_age_days" unit:"days" in:"(0,)" as:"30" is:"how long after that its heights count; unset: nothing limits it, and each run says so"`
	HeightsOf        string      `toml:"heights_of" in:"fixture|blank" as:"\"blank\"" is:"\"fixture\": stock lies in it as it was measured, whichever it is; \"blank\": each blank lies in its own way, and each run wants readings of the one that is loaded"`
	ReadingsAgeHours *float64    `toml:"greatest_readings_age_hours" unit:"h" in:"(0,)" as:"12" is:"how long readings of a blank count; unset: as long as the blank is loaded"`
	ShiftMM          *[2]float64 `toml:"shift_mm" as:"[120, 80]" is:"where the surface's origin lies, X, Y of the program (--shift)"`
	RotateDeg        *float64    `toml:"rotate_deg" unit:"°" as:"90" is:"by which the surface is turned, counter-clockwise about its origin (--rotate)"`
	DatumMM          *[2]float64 `toml:"datum_mm" as:"[10, 10]" is:"heights count from here, X, Y of the program: where the focus is set (--datum)"`
	KeepOut          string      `toml:"keep_out" as:"\"clamps.csv\"" is:"boxes that stand above the stock, a CSV file (--keep-out)"`
	KeepOutMM        Boxes       `toml:"keep_out_mm" as:"[[0, 0, 20, 10, 12]]" is:"the same here: x0, y0, x1, y1 of the program, height over the datum"`
	WorkOffset       *string     `toml:"work_offset" in:"G54|G55|G56|G57|G58|G59|G59.1|G59.2|G59.3" as:"\"G55\"" is:"the work offset whose zero the fixture's is: a program that selects another is refused"`
}

// The stock whose heights a fixture record has.
const (
	OfFixture = "fixture"
	OfBlank   = "blank"
)

// Boxes are boxes that stand above the stock: x0, y0, x1, y1, height.
type Boxes [][5]float64

// UnmarshalTOML reads a list of lists of five numbers.
func (b *Boxes) UnmarshalTOML(v any) error {
	wrong := errors.New("wants boxes of five numbers in brackets, x0, y0, x1, y1 and height, as in [[0, 0, 20, 10, 12]]")
	list, ok := v.([]any)
	if !ok {
		return wrong
	}
	*b = Boxes{}
	for _, e := range list {
		numbers, _ := e.([]any)
		if len(numbers) != 5 {
			return wrong
		}
		var box [5]float64
		for k, n := range numbers {
			switch n := n.(type) {
			case int64:
				box[k] = float64(n)
			case float64:
				box[k] = n
			default:
				return wrong
			}
			if math.IsNaN(box[k]) || math.IsInf(box[k], 0) {
				return wrong
			}
		}
		*b = append(*b, box)
	}
	return nil
}

// CSV is the file of boxes that says the same.
func (b Boxes) CSV() string {
	var text strings.Builder
	text.WriteString("x0,y0,x1,y1,height\n")
	for _, box := range b {
		for k, v := range box {
			text.WriteString(map[bool]string{true: ","}[k > 0] + tomlNumber(v))
		}
		text.WriteString("\n")
	}
	return text.String()
}

func (f *Fixture) about() string { return "Fixture record. A field's name carries its unit." }

// ReadFixture reads a fixture record; name stands for the file in errors. A record
// without a name takes the file's, less ".toml". An error of content is a *diag.Error.
func ReadFixture(r io.Reader, name string) (*Fixture, error) {
	f := Fixture{HeightsOf: OfFixture}
	lines, err := readSettings(r, name, &f)
	if err != nil {
		return nil, err
	}
	if err := f.Validate(); err != nil {
		return nil, place(err, name, lines)
	}
	f.Name = cmp.Or(f.Name, printable(strings.TrimSuffix(filepath.Base(name), ".toml")))
	return &f, nil
}

// digestForm is how a digest is written.
var digestForm = regexp.MustCompile(`^sha256:[0-9a-f]{64}$`)

// Validate checks every field and whether they agree. The error is a *diag.Error without
// file and line.
func (f *Fixture) Validate() error {
	if err := check(f); err != nil {
		return err
	}
	for _, n := range []struct{ field, name string }{{"surface", f.Surface}, {"keep_out", f.KeepOut}} {
		if n.name != "" && (!filepath.IsLocal(n.name) || n.name == ".") {
			return wrong(n.field, "%s leads out of the folder of the record: put the file into that folder", n.name)
		}
	}
	switch {
	case f.Surface == "":
		return wrong("surface", `is missing: name the measured heights, as in surface = "jig.csv"`)
	case f.SurfaceDigest != "" && !digestForm.MatchString(f.SurfaceDigest):
		return wrong("surface_digest", "wants sha256: and 64 digits of 0 to 9 and a to f, not %q", f.SurfaceDigest)
	case f.MeasuredAt != nil && f.MeasuredAt.Year() < firstYear:
		return wrong("measured", "wants a date too, as in 2026-11-05T14:30:00")
	case f.KeepOut != "" && f.KeepOutMM != nil:
		return wrong("keep_out_mm", "stands beside keep_out; give one of them")
	case f.KeepOutMM != nil && len(f.KeepOutMM) == 0:
		return wrong("keep_out_mm", "has no box; leave it out")
	case len(f.KeepOutMM) > mostBoxes:
		return wrong("keep_out_mm", "has %d boxes, more than %d", len(f.KeepOutMM), mostBoxes)
	case f.ReadingsAgeHours != nil && f.HeightsOf != OfBlank:
		return wrong("greatest_readings_age_hours", `is for heights_of = "blank"`)
	}
	return nil
}

const (
	// firstYear is before any surface was measured for this tool: a time of day alone is
	// read as one of the year 0.
	firstYear = 2000
	// mostBoxes bounds the boxes of a record; more stand in a file of their own.
	mostBoxes = 100
	// clocksApart is how far the clock of the bench may be before this one.
	clocksApart = 5 * time.Minute
)

// Age says how old the measurement is at a time, and how old it may be. The error, a
// *diag.Error of kind Unmet without a place, is that it is too old, or that nothing tells.
func (f *Fixture) Age(at time.Time) (string, error) {
	unmet := func(hint, format string, args ...any) (string, error) {
		return "", diag.Errorf(diag.Unmet, hint, format, args...)
	}
	const again = "measure it anew, or touch it again with sagitta recheck, and where it holds write the day of that into measured"
	if f.MeasuredAt == nil {
		return unmet("write measured = 2026-11-05T14:30:00, the time of that, into the record", "the record does not say when %s was measured", f.Surface)
	}
	age := at.Sub(*f.MeasuredAt)
	when := At(*f.MeasuredAt)
	switch {
	case age < -clocksApart:
		return unmet("correct measured in the record, or the clock", "%s was measured at %s, which is to come: it is %s", f.Surface, when, At(at))
	case f.GreatestAgeDays == nil:
		return fmt.Sprintf("measured %s, %s ago (the record limits no age)", when, ago(age)), nil
	case age.Hours() > 24**f.GreatestAgeDays:
		return unmet(again, "%s is too old: it was measured %s, %s ago, and counts for %s", f.Surface, when, ago(age), days(*f.GreatestAgeDays))
	}
	return fmt.Sprintf("measured %s, %s ago of at most %s", when, ago(age), days(*f.GreatestAgeDays)), nil
}

// At says a time, as people read it.
func At(t time.Time) string { return t.Format("2006-01-02 15:04") }

func days(n float64) string {
	if n < 1 {
		return phrase.Trimmed(24*n, 1) + " h"
	}
	if n == 1 {
		return "1 day"
	}
	return phrase.Trimmed(n, 2) + " days"
}

func ago(d time.Duration) string { return days(math.Floor(max(0, d.Hours()/24)*100) / 100) }

// forms are the ways in which a time may be written; all but the first two are by the clock
// here.
var forms = []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02"}

// ParseTime reads a time such as 2026-11-05T14:30, by the clock here where it has no
// offset as in +01:00; a date alone is its beginning.
func ParseTime(text string) (time.Time, bool) {
	for _, form := range forms {
		if t, err := time.ParseInLocation(form, text, time.Local); err == nil && t.Year() >= firstYear {
			return t, true
		}
	}
	return time.Time{}, false
}

// Work is the work offset as package machine has it, 540 for G54; 0 for none.
func (f *Fixture) Work() machine.GCode {
	if f.WorkOffset == nil {
		return 0
	}
	n, err := strconv.ParseFloat(strings.TrimPrefix(*f.WorkOffset, "G"), 64)
	if err != nil {
		return 0
	}
	return machine.GCode(math.Round(10 * n))
}
