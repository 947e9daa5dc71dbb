package record

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
)

const shortLens = `name = "short"
focal_length_mm = 38.1
wavelength_nm = 10600
waist_um = 90            # 1/e² diameter at best focus
rayleigh_mm = 0.46
m2 = 1.3
depth_mm = [-1.5, 1.8]
tested_on = "birch plywood"
tested_power_pct = 30
tested_feed_mm_min = 3000
depth_error_mm = 0.25
focus_shift_mm = -0.5
usual_defocus_mm = 0.8
smallest_detail_mm = 0.5
focus_height_mm = -2
standoff_mm = 6
spot_shift_mm = [0.2, -0.1]
`

func TestReadLens(t *testing.T) {
	got, err := ReadLens(strings.NewReader(shortLens), "some.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := &Lens{Name: "short", FocalLengthMM: new(38.1), WavelengthNM: new(10600.0), WaistUM: new(90.0), RayleighMM: new(0.46),
		M2: new(1.3), DepthMM: &[2]float64{-1.5, 1.8}, TestedOn: "birch plywood", TestedPowerPct: new(30.0), TestedFeedMMMin: new(3000.0),
		DepthErrorMM: new(0.25), FocusShiftMM: new(-0.5), UsualDefocusMM: new(0.8), SmallestDetailMM: new(0.5), FocusHeightMM: -2, StandoffMM: new(6.0), SpotShiftMM: &[2]float64{0.2, -0.1}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
	d, ok := got.Depth()
	if want := (LensDepth{focus.Depth{Near: 1.5, Far: 1.8}, false, "depth_mm"}); !ok || d != want {
		t.Errorf("depth %+v, %v", d, ok)
	}
}

func TestReadLensRefuses(t *testing.T) {
	const beam = "waist_um = 90\nwavelength_nm = 10600\n"
	for _, c := range []struct {
		text  string
		line  int
		field string
		what  string
	}{
		{"", 0, "", "no field"},
		{"# only a comment\n", 0, "", "no field"},
		{"\nwavelength_nm = 10.6", 2, "wavelength_nm", "if it was meant in µm, write 10600"},
		{"wavelength_nm = 0.0106", 1, "wavelength_nm", "if it was meant in mm, write 10600"},
		{"wavelength_nm = 1.06e-6", 1, "wavelength_nm", "if it was meant in m, write 1060"},
		{"wavelength_nm = 99.9", 1, "wavelength_nm", "wants 100 to 20000 nm"},
		{"wavelength_nm = 20001", 1, "wavelength_nm", "wants 100 to 20000 nm, not 20001"},
		{"wavelength_nm = nan", 1, "wavelength_nm", "finite number above zero"},
		{"wavelength_nm = -1064", 1, "wavelength_nm", "finite number above zero"},
		{"focal_length_mm = 0", 1, "focal_length_mm", "above zero"},
		{"waist_um = inf", 1, "waist_um", "above zero"},
		{"rayleigh_mm = -0.1", 1, "rayleigh_mm", "above zero"},
		{"m2 = 0.9", 1, "m2", "wants 1 or more"},
		{"m2 = nan", 1, "m2", "above zero"},
		{"name = \"a\\nG1 X9\"", 1, "name", "printable text on one line"},
		{"tested_on = \"a\\u001bb\"", 1, "tested_on", "printable text on one line"},
		{"tested_power_pct = 101", 1, "tested_power_pct", "at most 100"},
		{"tested_power_pct = 0", 1, "tested_power_pct", "above zero"},
		{"tested_feed_mm_min = 0", 1, "tested_feed_mm_min", "above zero"},
		{"depth_error_mm = -0.1", 1, "depth_error_mm", "zero or more"},
		{"focus_shift_mm = inf", 1, "focus_shift_mm", "finite"},
		{"usual_defocus_mm = nan", 1, "usual_defocus_mm", "finite"},
		{"smallest_detail_mm = -1", 1, "smallest_detail_mm", "above zero"},
		{"focus_height_mm = -inf", 1, "focus_height_mm", "finite"},
		{"standoff_mm = 0", 1, "standoff_mm", "above zero"},
		{"m2 = 1.3\n\ndepth_mm = [1.5, -1.5]", 3, "depth_mm", "as in [-1.5, 1.5], not [1.5, -1.5]"},
		{"depth_mm = [1.2, 1.8]", 1, "depth_mm", "nearer below zero"},
		{"depth_mm = [-1.2, 0]", 1, "depth_mm", "nearer below zero"},
		{"depth_mm = [0, 1.2]", 1, "depth_mm", "nearer below zero"},
		{"depth_mm = [-1.2, nan]", 1, "depth_mm", "wants a finite number"},
		{"depth_mm = [-inf, 1.2]", 1, "depth_mm", "wants a finite number"},
		// π·0.09²/(4·1.3·0.0106) = 0.4617 mm: 0.4397 to 0.4860 are within 5 %.
		{beam + "m2 = 1.3\nrayleigh_mm = 0.487", 4, "rayleigh_mm", "give 0.462 mm: they may differ by 5 percent"},
		{beam + "m2 = 1.3\nrayleigh_mm = 0.439", 4, "rayleigh_mm", "give 0.462 mm"},
		// Contradiction is not silenced by a depth that wins.
		{beam + "m2 = 1.3\nrayleigh_mm = 0.487\ndepth_mm = [-1, 1]", 4, "rayleigh_mm", "give 0.462 mm"},
		// With m2 = 1 it would be 0.600 mm: longer ones need m2 below 1.
		{beam + "rayleigh_mm = 0.7", 3, "rayleigh_mm", "gives m2 = 0.857, and none is below 1"},
		{"waist_um = 0.09\nwavelength_nm = 10600", 1, "waist_um", "is it in mm?"},
		{"waist_um = 1e300\nwavelength_nm = 10600\nm2 = 1", 1, "waist_um", "1e+300 is beyond any bench: wants 1e+09 at most"},
		{"focus_height_mm = -1e10", 1, "focus_height_mm", "-1e+10 is beyond any bench: wants -1e+09 at least"},
		{"depth_mm = [-1, 1e200]", 1, "depth_mm", "beyond any bench"},
	} {
		_, err := ReadLens(strings.NewReader(c.text), "some.toml")
		refused(t, c.text, err, c.line, c.field, c.what)
	}
}

func TestLensDepth(t *testing.T) {
	const k10 = 0.458258 // √(1.1² − 1), S. A. Self, Applied Optics 22, 658 (1983)
	for _, c := range []struct {
		text    string
		half    float64 // 0: without depth
		assumed bool
		from    string
	}{
		{"rayleigh_mm = 2", 2 * k10, true, "rayleigh_mm, for a beam wider by 10 percent"},
		{"waist_um = 90\nwavelength_nm = 10600\nm2 = 1.3", 0.46166 * k10, true, "waist_um, wavelength_nm and m2"},
		{"waist_um = 90\nwavelength_nm = 10600\nm2 = 1.3\nrayleigh_mm = 0.485", 0.485 * k10, true, "rayleigh_mm"},
		{"waist_um = 90\nwavelength_nm = 10600\nm2 = 1.3\nrayleigh_mm = 0.441", 0.441 * k10, true, "rayleigh_mm"},
		{"waist_um = 90\nwavelength_nm = 10600\nrayleigh_mm = 0.6", 0.6 * k10, true, "rayleigh_mm"},
		{"rayleigh_mm = 2\ndepth_mm = [-1.25, 1.25]", 1.25, false, "depth_mm"},
		{"focal_length_mm = 38.1", 0, false, "waist_um, wavelength_nm, m2 is missing"},
		{"waist_um = 90\nwavelength_nm = 10600", 0, false, "m2 is missing"},
		{"waist_um = 90\nm2 = 1.3", 0, false, "wavelength_nm is missing"},
	} {
		l, err := ReadLens(strings.NewReader(c.text), "some.toml")
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		d, ok := l.Depth()
		// The constants above carry five digits.
		if ok != (c.half > 0) || math.Abs(d.Near-c.half) > 2e-5*c.half || d.Near != d.Far || d.Assumed != c.assumed || !strings.Contains(d.From, c.from) {
			t.Errorf("%q: %+v, %v", c.text, d, ok)
		}
	}
}

func number(lo, hi float64) *rapid.Generator[*float64] {
	return rapid.Ptr(rapid.Float64Range(lo, hi), true)
}

func words() *rapid.Generator[string] {
	return rapid.StringOfN(rapid.RuneFrom([]rune("aB ()\"\\#'=;%é雪🔥")), 1, 20, -1)
}

func lens() *rapid.Generator[*Lens] {
	return rapid.Custom(func(t *rapid.T) *Lens {
		return &Lens{
			Name: words().Draw(t, "name"), TestedOn: rapid.OneOf(rapid.Just(""), words()).Draw(t, "on"),
			FocalLengthMM: number(1e-9, 1e9).Draw(t, "f"), WavelengthNM: number(100, 20000).Draw(t, "nm"),
			WaistUM: number(1, 1e4).Draw(t, "waist"), RayleighMM: number(1e-3, 1e3).Draw(t, "zR"), M2: number(0.95, 90).Draw(t, "m2"),
			DepthMM: rapid.Ptr(rapid.Custom(func(t *rapid.T) [2]float64 {
				return [2]float64{-rapid.Float64Range(1e-9, 1e9).Draw(t, "near"), rapid.Float64Range(1e-9, 1e9).Draw(t, "far")}
			}), true).Draw(t, "depth"),
			TestedPowerPct: number(1e-9, 100).Draw(t, "power"), TestedFeedMMMin: number(1e-9, 1e18).Draw(t, "feed"),
			DepthErrorMM: number(0, 1e9).Draw(t, "error"), FocusShiftMM: number(-1e9, 1e9).Draw(t, "shift"), UsualDefocusMM: number(-1e9, 1e9).Draw(t, "defocus"),
			SmallestDetailMM: number(1e-9, 1e9).Draw(t, "detail"), FocusHeightMM: rapid.Float64().Draw(t, "height"),
			StandoffMM: number(1e-9, 1e9).Draw(t, "standoff"),
		}
	})
}

// A record that is valid reads back equal; one that is not is not written.
func TestWriteLensReadsBackEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := lens().Draw(t, "lens")
		var b bytes.Buffer
		if err := Write(&b, l); err != nil {
			if !diag.Is(err, diag.Setting) || l.Validate() == nil || b.Len() > 0 {
				t.Fatalf("%v, %d bytes written", err, b.Len())
			}
			return
		}
		back, err := ReadLens(bytes.NewReader(b.Bytes()), "some.toml")
		if err != nil || !reflect.DeepEqual(back, l) {
			t.Fatalf("%v\n%s", err, b.Bytes())
		}
		if d, ok := l.Depth(); ok && d.Check() != nil {
			t.Fatalf("depth %+v of a valid record", d)
		}
	})
}

// Names come from command lines too, in any bytes.
func TestWriteLensRefusesTextThatTOMLCannotHold(t *testing.T) {
	for _, name := range []string{"\xff", "a\nb", "\x7f", "\u2028"} {
		var b bytes.Buffer
		if err := Write(&b, &Lens{Name: name}); err == nil || b.Len() > 0 {
			t.Errorf("%q: %v\n%s", name, err, b.Bytes())
		}
	}
}

func FuzzReadLens(f *testing.F) {
	f.Add(shortLens)
	for _, s := range []string{"", "a.b.c = 1", "[[m2]]", "m2 = [[[[1]]]]", "depth_mm = [-1, 1]\nname = '''\n'''", "m2 = 1e400", "\"\\u0000\" = 1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ReadLens(strings.NewReader(text), "some.toml")
		if err != nil {
			if !diag.Is(err, diag.Setting) || diag.As(err).File != "some.toml" || strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
				t.Fatalf("%q: %q", text, err)
			}
			return
		}
		if err := l.Validate(); err != nil {
			t.Fatalf("%q was taken: %v", text, err)
		}
		var b bytes.Buffer
		if err := Write(&b, l); err != nil {
			t.Fatal(err)
		}
		if back, err := ReadLens(&b, "some.toml"); err != nil || !reflect.DeepEqual(back, l) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
