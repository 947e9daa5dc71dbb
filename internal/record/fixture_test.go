package record

import (
	"bytes"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

const fixtureText = "surface = \"jig.csv\"\n"

// Each mistake is told with its line and field.
func TestReadFixtureMistakes(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "jig.toml: surface: is missing"},
		{"surface = \"../jig.csv\"", "jig.toml:1: surface: ../jig.csv leads out of the folder"},
		{"surface = \"/jig.csv\"", "jig.toml:1: surface: /jig.csv leads out of the folder"},
		{fixtureText + "keep_out = \"a/../../b\"", "jig.toml:2: keep_out: a/../../b leads out of the folder"},
		{fixtureText + "measured = \"yesterday\"", "jig.toml:2: measured: wants a date and time without quotes"},
		{fixtureText + "measured = 10:00:00", "jig.toml:2: measured: wants a date too"},
		{fixtureText + "greatest_age_days = 0", "jig.toml:2: greatest_age_days: wants a finite number above zero, not 0"},
		{fixtureText + "greatest_age = 3", "jig.toml:2: greatest_age: no such field: is greatest_age_days meant?"},
		{fixtureText + "surface_digest = \"sha256:12\"", "jig.toml:2: surface_digest: wants sha256: and 64 digits"},
		{fixtureText + "heights_of = \"sheet\"", "jig.toml:2: heights_of: wants \"fixture\" or \"blank\", not \"sheet\""},
		{fixtureText + "work_offset = \"G53\"", "jig.toml:2: work_offset: wants \"G54\" or"},
		{fixtureText + "work_offset = \"\"", "jig.toml:2: work_offset: wants \"G54\" or"},
		{fixtureText + "shift_mm = [1, inf]", "jig.toml:2: shift_mm: wants a finite number"},
		{fixtureText + "keep_out_mm = [[1, 2, 3, 4]]", "jig.toml:2: keep_out_mm: wants boxes of five numbers"},
		{fixtureText + "keep_out_mm = [[1, 2, 3, 4, nan]]", "jig.toml:2: keep_out_mm: wants boxes of five numbers"},
		{fixtureText + "keep_out_mm = []", "jig.toml:2: keep_out_mm: has no box"},
		{fixtureText + "keep_out = \"c.csv\"\nkeep_out_mm = [[0, 0, 1, 1, 1]]", "jig.toml:3: keep_out_mm: stands beside keep_out"},
		{fixtureText + "greatest_readings_age_hours = 3", "jig.toml:2: greatest_readings_age_hours: is for heights_of"},
	} {
		_, err := ReadFixture(strings.NewReader(c.text), "jig.toml")
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || !diag.Is(err, diag.Setting) {
			t.Errorf("%q: %v, not %s", c.text, err, c.want)
		}
	}
}

// What is written is read back the same.
func TestFixtureWriteReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1000, 1000)
		f := &Fixture{Name: "jig", Surface: "a/b.csv", HeightsOf: OfFixture}
		if rapid.Bool().Draw(t, "measured") {
			at := time.Unix(rapid.Int64Range(1e9, 3e9).Draw(t, "at"), 0).UTC()
			f.MeasuredAt = &at
		}
		if rapid.Bool().Draw(t, "blank") {
			hours := rapid.Float64Range(0.1, 100).Draw(t, "hours")
			f.HeightsOf, f.ReadingsAgeHours = OfBlank, &hours
		}
		for range rapid.IntRange(0, 3).Draw(t, "boxes") {
			f.KeepOutMM = append(f.KeepOutMM, [5]float64{number.Draw(t, "x0"), number.Draw(t, "y0"), number.Draw(t, "x1"), number.Draw(t, "y1"), number.Draw(t, "h")})
		}
		if rapid.Bool().Draw(t, "placed") {
			f.ShiftMM = &[2]float64{number.Draw(t, "x"), number.Draw(t, "y")}
			turn := number.Draw(t, "turn")
			f.RotateDeg = &turn
		}
		if rapid.Bool().Draw(t, "offset") {
			of := rapid.SampledFrom([]string{"G54", "G59.3"}).Draw(t, "work")
			f.WorkOffset = &of
		}
		var text bytes.Buffer
		if err := Write(&text, f); err != nil {
			t.Fatal(err)
		}
		again, err := ReadFixture(&text, "jig.toml")
		if err != nil {
			t.Fatal(err)
		}
		if again.MeasuredAt != nil && again.MeasuredAt.Equal(*f.MeasuredAt) {
			again.MeasuredAt = f.MeasuredAt
		}
		if !reflect.DeepEqual(f, again) {
			t.Fatalf("%+v is read as %+v", f, again)
		}
	})
}

// A surface counts to the very end of its age, and not from a time that is to come.
func TestFixtureAge(t *testing.T) {
	at := time.Date(2026, 11, 5, 12, 0, 0, 0, time.UTC)
	limit := 2.0
	for _, c := range []struct {
		f     Fixture
		after time.Duration
		holds bool
	}{
		{Fixture{MeasuredAt: &at, GreatestAgeDays: &limit}, 48 * time.Hour, true},
		{Fixture{MeasuredAt: &at, GreatestAgeDays: &limit}, 48*time.Hour + time.Second, false},
		{Fixture{MeasuredAt: &at}, 1e5 * time.Hour, true},
		{Fixture{MeasuredAt: &at}, -clocksApart, true},
		{Fixture{MeasuredAt: &at}, -clocksApart - time.Second, false},
		{Fixture{}, 0, false},
	} {
		_, err := c.f.Age(at.Add(c.after))
		if (err == nil) != c.holds || err != nil && !diag.Is(err, diag.Unmet) {
			t.Errorf("%v after: %v", c.after, err)
		}
	}
}

// Times are read as they are typed, and no others.
func TestParseTime(t *testing.T) {
	want := time.Date(2026, 11, 5, 14, 30, 0, 0, time.UTC)
	for _, text := range []string{"2026-11-05T14:30:00Z", "2026-11-05T15:30+01:00"} {
		if got, ok := ParseTime(text); !ok || !got.Equal(want) {
			t.Errorf("%s: %v", text, got)
		}
	}
	for _, text := range []string{"2026-11-05T14:30", "2026-11-05 14:30:00"} {
		if got, ok := ParseTime(text); !ok || got.Format("15:04") != "14:30" || got.Location() != time.Local {
			t.Errorf("%s: %v", text, got)
		}
	}
	for _, text := range []string{"", "14:30", "05.11.2026", "0001-01-01", "2026-13-05", "2026-11-05T14:30:00Zx"} {
		if got, ok := ParseTime(text); ok {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// No record panics, or is refused without saying of what file.
func FuzzReadFixture(f *testing.F) {
	f.Add(fixtureText + "measured = 2026-11-05T14:30:00+01:00\nkeep_out_mm = [[0, 0, 20, 10, 12]]\nwork_offset = \"G55\"")
	f.Add(fixtureText + "[keep_out_mm]\nx = 1")
	f.Fuzz(func(t *testing.T, text string) {
		x, err := ReadFixture(strings.NewReader(text), "jig.toml")
		if err != nil {
			if e := diag.As(err); e == nil || e.File != "jig.toml" {
				t.Fatalf("%v", err)
			}
			return
		}
		x.Work()
		x.KeepOutMM.CSV()
		_, _ = x.Age(time.Unix(1e9, 0))
	})
}
