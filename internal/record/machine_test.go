package record

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

const bench = `units = "in"
z_axis = "W"
z_plus = "toward"
z_moves = "beam-off"
z_min_mm = -20
z_max_mm = 40
z_rate_mm_min = 600
z_resolution_mm = 0.001
z_backlash_mm = 0.02
z_step_mm = 0.05
focus_setting_mm = 0.1
rapid_mm_min = 5000
rapids_straight = true
accel_mm_s2 = 400
z_accel_mm_s2 = 50
corner_mm = 0.01
speed_step_mm_s = 10
z_speed_step_mm_s = 0.4
stops_at_beam = true
feed_counts_z = false
feed_max_mm_min = 12000
decimals = 4
line_max = 256
lines_per_s = 500
numbered = true
beam_on = ["M3", "m106"]
beam_off = ["M05", "M107"]
power_word = "Q"
s_max = 255
power_follows_speed = ["M106"]
power_scale = "speed"
power_least_pct = 10
rapids_fire = true
comments = false
head_radius_mm = 8
gap_min_mm = 1.5
table_moves = true
gauge_foot_mm = 20
probe_offset_mm = [1, 2.5, -3]
probe_feed_mm_min = 90
probe_depth_mm = 12
`

func TestReadMachine(t *testing.T) {
	got, err := ReadMachine(strings.NewReader(bench), "some.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := &Machine{Units: "in", ZAxis: "W", ZPlus: "toward", ZMoves: "beam-off", ZMinMM: new(-20.0), ZMaxMM: new(40.0),
		ZRateMMMin: new(600.0), ZResolutionMM: new(0.001), ZBacklashMM: new(0.02), ZStepMM: new(0.05), FocusSettingMM: new(0.1),
		RapidMMMin: 5000, RapidsStraight: true, AccelMMS2: new(400.0), ZAccelMMS2: new(50.0), CornerMM: new(0.01), SpeedStepMMS: new(10.0), ZSpeedStepMMS: new(0.4), StopsAtBeam: true, FeedMaxMMMin: new(12000.0), Decimals: new(4), LineMax: new(256), LinesPerS: new(500.0), Numbered: true,
		BeamOn: MWords{3, 106}, BeamOff: MWords{5, 107}, PowerWord: "Q", SMax: 255, PowerFollowsSpeed: MWords{106}, PowerScale: BySpeed, PowerLeastPct: new(10.0), Harmless: MWords{}, RapidsFire: true,
		HeadRadiusMM: new(8.0), GapMinMM: new(1.5), TableMoves: true, GaugeFootMM: 20, ProbeOffsetMM: [3]float64{1, 2.5, -3}, ProbeFeedMMMin: 90, ProbeDepthMM: 12}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
}

func TestDefaults(t *testing.T) {
	if err := DefaultMachine().Validate(); err != nil {
		t.Error(err)
	}
	got, err := ReadMachine(strings.NewReader("# nothing set\n"), "some.toml")
	if err != nil || !reflect.DeepEqual(got, DefaultMachine()) {
		t.Errorf("%+v, %v", got, err)
	}
	DefaultMachine().BeamOn[0] = 99
	if DefaultMachine().BeamOn[0] != 3 {
		t.Error("two default profiles share their words")
	}
	m := DefaultMachine()
	if m.Sigma() != 1 || m.Inches() {
		t.Error("by default + is away, in mm")
	}
	m.ZPlus, m.Units = Toward, UnitsInch
	if m.Sigma() != -1 || !m.Inches() {
		t.Error("toward is −1, in is inches")
	}
}

func TestPowerFollowsSpeedLeftOut(t *testing.T) {
	for text, want := range map[string]MWords{
		`beam_on = ["M3"]`:                                   {},
		`beam_on = ["M4", "M7"]`:                             {4},
		"beam_on = [\"M3\"]\npower_follows_speed = []":       {},
		"beam_on = [\"M7\"]\npower_follows_speed = [\"M7\"]": {7},
	} {
		m, err := ReadMachine(strings.NewReader(text), "some.toml")
		if err != nil || !reflect.DeepEqual(m.PowerFollowsSpeed, want) {
			t.Errorf("%q: %+v, %v", text, m, err)
		}
	}
}

func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		text     string
		mm, inch int
	}{
		{"", 3, 5}, {`units = "in"`, 3, 5}, {"decimals = 3", 3, 5}, {"decimals = 2", 2, 4}, {"decimals = 0", 0, 2}, {"decimals = 6", 6, 8},
		{"units = \"in\"\ndecimals = 4", 2, 4}, {"units = \"in\"\ndecimals = 1", 0, 1}, {"units = \"in\"\ndecimals = 6", 4, 6},
	} {
		m, err := ReadMachine(strings.NewReader(c.text), "some.toml")
		if err != nil || m.DecimalsMM() != c.mm || m.DecimalsInch() != c.inch {
			t.Errorf("%q: %d in mm, %d in inches, %v", c.text, m.DecimalsMM(), m.DecimalsInch(), err)
		}
	}
}

func TestReadMachineRefuses(t *testing.T) {
	for _, c := range []struct {
		text  string
		line  int
		field string
		what  string
	}{
		{"\nunits = \"inch\"", 2, "units", `wants "mm" or "in", not "inch"`},
		{"z_axis = \"X\"", 1, "z_axis", `wants "Z" or "U" or "V" or "W" or "A", not "X"`},
		{"z_axis = \"z\"", 1, "z_axis", `"Z" or`},
		{"z_axis = \"ZU\"", 1, "z_axis", `"Z" or`},
		{"z_axis = \"\"", 1, "z_axis", `"Z" or`},
		{"z_plus = \"up\"", 1, "z_plus", `"away" or "toward"`},
		{"z_moves = \"never\"", 1, "z_moves", `"always" or "beam-off" or "by-hand"`},
		{"z_max_mm = 5\nz_min_mm = 5", 2, "z_min_mm", "not below z_max_mm"},
		{"z_min_mm = nan", 1, "z_min_mm", "finite"},
		{"z_max_mm = inf", 1, "z_max_mm", "finite"},
		{"z_rate_mm_min = 0", 1, "z_rate_mm_min", "above zero"},
		{"z_resolution_mm = 0", 1, "z_resolution_mm", "above zero"},
		{"z_backlash_mm = -0.01", 1, "z_backlash_mm", "zero or more"},
		{"z_step_mm = 0", 1, "z_step_mm", "above zero"},
		{"focus_setting_mm = nan", 1, "focus_setting_mm", "zero or more"},
		{"rapid_mm_min = -1", 1, "rapid_mm_min", "above zero"},
		{"feed_counts_z = 1", 1, "feed_counts_z", "wants true or false"},
		{"feed_max_mm_min = inf", 1, "feed_max_mm_min", "above zero"},
		{"decimals = 7", 1, "decimals", "wants 0 to 6, not 7"},
		{"decimals = -1", 1, "decimals", "wants 0 to 6"},
		{"decimals = 3.0", 1, "decimals", "wants a whole number"},
		{"line_max = 0", 1, "line_max", "above zero"},
		{"accel_mm_s2 = 0", 1, "accel_mm_s2", "above zero"},
		{"accel_mm_s2 = 1e-308", 1, "accel_mm_s2", "1e-308 is beyond any bench: wants 1e-09 at least"},
		{"z_rate_mm_min = 1e300", 1, "z_rate_mm_min", "1e+300 is beyond any bench: wants 1e+09 at most"},
		{"z_min_mm = -1e300", 1, "z_min_mm", "-1e+300 is beyond any bench: wants -1e+09 at least"},
		{"x_mm = [0, 1e300]", 1, "x_mm", "beyond any bench"},
		{"lines_per_s = 0", 1, "lines_per_s", "above zero"},
		{"beam_on = \"M3\"", 1, "beam_on", `in brackets, as in ["M3", "M4"]`},
		{"beam_on = [3]", 1, "beam_on", "3 is none"},
		{"beam_on = [\"M3\", \"G1\"]", 1, "beam_on", `"G1" is none`},
		{"beam_on = [\"M\"]", 1, "beam_on", `"M" is none`},
		{"beam_on = [\"3\"]", 1, "beam_on", `"3" is none`},
		{"beam_on = [\"M-3\"]", 1, "beam_on", `"M-3" is none`},
		{"beam_on = [\"M3.1\"]", 1, "beam_on", `"M3.1" is none`},
		{"beam_on = [\"M99999\"]", 1, "beam_on", `"M99999" is none`},
		{"beam_on = []", 1, "beam_on", "at least one"},
		{"beam_off = []", 1, "beam_off", "at least one"},
		{"beam_on = [\"M3\", \"M03\"]", 1, "beam_on", "M3 stands twice"},
		{"beam_off = [\"M2\"]", 1, "beam_off", "M2 stops or ends"},
		{"\nbeam_on = [\"M5\"]", 2, "beam_on", "M5 is in beam_off too (M5)"},
		{"power_word = \"s\"", 1, "power_word", "one capital letter"},
		{"power_word = \"SP\"", 1, "power_word", "one capital letter"},
		{"power_word = \"\"", 1, "power_word", "one capital letter"},
		{"power_word = \"F\"", 1, "power_word", "another meaning"},
		{"z_axis = \"A\"\npower_word = \"A\"", 2, "power_word", "another meaning"},
		{"s_max = 0", 1, "s_max", "above zero"},
		{"power_follows_speed = [\"M7\"]", 1, "power_follows_speed", "M7 is not in beam_on (M3, M4)"},
		{"power_follows_speed = [\"M4\", \"M4\"]", 1, "power_follows_speed", "twice"},
		{"beam_on = [\"M3\"]\npower_follows_speed = [\"M4\"]", 2, "power_follows_speed", "M4 is not in beam_on (M3)"},
		{"power_scale = \"feed\"", 1, "power_scale", `wants "share-of-F" or "speed", not "feed"`},
		{"power_least_pct = 101", 1, "power_least_pct", "100"},
		{"power_least_pct = -1", 1, "power_least_pct", "0"},
		{"harmless = [\"M4\"]", 1, "harmless", "M4 lets the beam fire"},
		{"harmless = [\"M64\", \"M64\"]", 1, "harmless", "twice"},
		{"head_radius_mm = -1", 1, "head_radius_mm", "zero or more"},
		{"x_mm = [600, 0]", 1, "x_mm", "600 is not below 0"},
		{"x_mm = [0, nan]", 1, "x_mm", "finite"},
		{"y_mm = [5, 5]", 1, "y_mm", "5 is not below 5"},
		{"y_mm = 400", 1, "y_mm", "wants two numbers"},
		{"head_mm = 4", 1, "head_mm", "wants steps of radius and height in brackets"},
		{"head_mm = [4, 0]", 1, "head_mm", "wants steps of radius and height in brackets"},
		{"head_mm = [[4, 0], [30]]", 1, "head_mm", "wants steps of radius and height in brackets"},
		{"head_mm = [[4, 0], [30, \"15\"]]", 1, "head_mm", "wants steps of radius and height in brackets"},
		{"head_mm = []", 1, "head_mm", "has no step"},
		{"head_mm = [[4, 1]]", 1, "head_mm", "the tip first, at a height of 0, not 1"},
		{"head_mm = [[nan, 0]]", 1, "head_mm", "zero or more"},
		{"head_mm = [[-4, 0]]", 1, "head_mm", "zero or more"},
		{"head_mm = [[4, 0], [inf, 2]]", 1, "head_mm", "zero or more"},
		{"head_mm = [[4, 0], [30, 1e10]]", 1, "head_mm", "[30, 1e+10] is beyond any bench: wants 1e+09 at most"},
		{"head_mm = [[4, 0], [30, 15], [40, 15]]", 1, "head_mm", "[40, 15] is not higher than the one before"},
		{"head_mm = [[4, 0], [30, 15], [40, 10]]", 1, "head_mm", "[40, 10] is not higher than the one before"},
		{"head_mm = [[4, 0], [4, 15]]", 1, "head_mm", "wider the higher they are; [4, 15] is not"},
		{"head_radius_mm = 8\nhead_mm = [[4, 0]]", 2, "head_mm", "stands beside head_radius_mm"},
		{"head_mm = [" + strings.Repeat("[1, 1], ", 21) + "]", 1, "head_mm", "has 21 steps, more than 20"},
		{"gap_min_mm = inf", 1, "gap_min_mm", "zero or more"},
		{"probe_offset_mm = [0, 0]", 1, "probe_offset_mm", "wants 3 numbers in brackets"},
		{"probe_offset_mm = [nan, 0, 0]", 1, "probe_offset_mm", "finite"},
		{"probe_offset_mm = [0, inf, 0]", 1, "probe_offset_mm", "finite"},
		{"probe_offset_mm = [0, 0, inf]", 1, "probe_offset_mm", "finite"},
		{"probe_feed_mm_min = 0", 1, "probe_feed_mm_min", "above zero"},
		{"probe_depth_mm = 0", 1, "probe_depth_mm", "above zero"},
		{"z_rate = 600", 1, "z_rate", "is z_rate_mm_min meant?"},
	} {
		_, err := ReadMachine(strings.NewReader(c.text), "some.toml")
		refused(t, c.text, err, c.line, c.field, c.what)
	}
}

func profiles() *rapid.Generator[*Machine] {
	return rapid.Custom(func(t *rapid.T) *Machine {
		on := rapid.SliceOfNDistinct(rapid.IntRange(3, 120), 2, 6, rapid.ID).Draw(t, "words")
		cut := rapid.IntRange(1, len(on)-1).Draw(t, "on")
		follows := rapid.IntRange(0, cut).Draw(t, "follows")
		m := &Machine{
			Units: rapid.SampledFrom([]string{UnitsMM, UnitsInch}).Draw(t, "units"), ZAxis: rapid.SampledFrom(strings.Split("ZUVWA", "")).Draw(t, "axis"),
			ZPlus: rapid.SampledFrom([]string{Away, Toward}).Draw(t, "plus"), ZMoves: rapid.SampledFrom([]string{ZAlways, ZBeamOff, ZByHand}).Draw(t, "moves"),
			ZMinMM: number(-50, 50).Draw(t, "zmin"), ZMaxMM: number(-50, 50).Draw(t, "zmax"), ZRateMMMin: number(1e-3, 1e6).Draw(t, "rate"),
			ZResolutionMM: number(1e-6, 1).Draw(t, "res"), ZBacklashMM: number(0, 1).Draw(t, "backlash"), ZStepMM: number(1e-6, 1).Draw(t, "step"),
			FocusSettingMM: number(0, 1).Draw(t, "focus"), RapidMMMin: rapid.Float64Range(1, 1e7).Draw(t, "rapid"), FeedCountsZ: rapid.Bool().Draw(t, "countz"),
			AccelMMS2: number(1e-3, 1e6).Draw(t, "accel"), ZAccelMMS2: number(1e-3, 1e6).Draw(t, "z accel"), CornerMM: number(1e-4, 1).Draw(t, "corner"),
			SpeedStepMMS: number(1e-3, 100).Draw(t, "step of speed"), ZSpeedStepMMS: number(1e-3, 100).Draw(t, "step of Z's speed"),
			StopsAtBeam:  rapid.Bool().Draw(t, "stops"),
			FeedMaxMMMin: number(1, 1e6).Draw(t, "fmax"), Decimals: rapid.Ptr(rapid.IntRange(-1, 7), true).Draw(t, "decimals"),
			LineMax: rapid.Ptr(rapid.IntRange(1, 1000), true).Draw(t, "linemax"), LinesPerS: number(1, 1e4).Draw(t, "lines"), Numbered: rapid.Bool().Draw(t, "n"),
			BeamOn: on[:cut:cut], BeamOff: on[cut:], PowerFollowsSpeed: append(MWords{}, on[:follows]...),
			PowerScale: rapid.SampledFrom([]string{ShareOfF, BySpeed}).Draw(t, "scale"), PowerLeastPct: number(0, 100).Draw(t, "least"),
			Harmless:  append(MWords{}, rapid.SliceOfNDistinct(rapid.IntRange(121, 999), 0, 3, rapid.ID).Draw(t, "harmless")...),
			PowerWord: rapid.SampledFrom([]string{"S", "E", "Q", "A", "F"}).Draw(t, "word"), SMax: rapid.Float64Range(1e-3, 1e5).Draw(t, "smax"),
			RapidsFire: rapid.Bool().Draw(t, "fire"), Comments: rapid.Bool().Draw(t, "comments"),
			HeadRadiusMM: number(0, 50).Draw(t, "head"), GapMinMM: number(0, 10).Draw(t, "gap"),
			ProbeFeedMMMin: rapid.Float64Range(1, 1e4).Draw(t, "pfeed"), ProbeDepthMM: rapid.Float64Range(0.1, 100).Draw(t, "pdepth"),
		}
		if rapid.Bool().Draw(t, "reach") {
			low := rapid.Float64Range(-500, 500).Draw(t, "low")
			m.XMM, m.YMM = &Reach{low, low + rapid.Float64Range(-1, 900).Draw(t, "wide")}, &Reach{-1, low}
		}
		if rapid.Bool().Draw(t, "steps") {
			if m.HeadMM = (Steps{{rapid.Float64Range(0, 5).Draw(t, "tip"), 0}}); rapid.Bool().Draw(t, "one") {
				m.HeadRadiusMM = nil
			}
			for k := range rapid.IntRange(0, 3).Draw(t, "more") {
				m.HeadMM = append(m.HeadMM, [2]float64{float64(k) + rapid.Float64Range(5.5, 6.5).Draw(t, "wide"), float64(k) + rapid.Float64Range(1, 2.1).Draw(t, "up")})
			}
		}
		for i := range m.ProbeOffsetMM {
			m.ProbeOffsetMM[i] = rapid.Float64Range(-100, 100).Draw(t, "offset")
		}
		return m
	})
}

// A profile that is valid reads back equal; one that is not is not written.
func TestWriteMachineReadsBackEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := profiles().Draw(t, "machine")
		var b bytes.Buffer
		if err := Write(&b, m); err != nil {
			if !diag.Is(err, diag.Setting) || m.Validate() == nil || b.Len() > 0 {
				t.Fatalf("%v, %d bytes written", err, b.Len())
			}
			return
		}
		back, err := ReadMachine(bytes.NewReader(b.Bytes()), "some.toml")
		if err != nil || !reflect.DeepEqual(back, m) {
			t.Fatalf("%v\n%s", err, b.Bytes())
		}
	})
}

func FuzzReadMachine(f *testing.F) {
	f.Add(bench)
	for _, s := range []string{"", "beam_on = [\"M3\"]", "beam_on = [[\"M3\"]]", "probe_offset_mm = [1, {}, 2]", "head_mm = [[4, 0], [30, 15.5]]", "head_mm = [[], {}, [nan, 1e400]]", "units.mm = 1", "[units]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMachine(strings.NewReader(text), "some.toml")
		if err != nil {
			if !diag.Is(err, diag.Setting) || diag.As(err).File != "some.toml" || strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
				t.Fatalf("%q: %q", text, err)
			}
			return
		}
		var b bytes.Buffer
		if err := Write(&b, m); err != nil {
			t.Fatalf("%q was taken: %v", text, err)
		}
		if back, err := ReadMachine(&b, "some.toml"); err != nil || !reflect.DeepEqual(back, m) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
