package record

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/machine"
)

// Machine is a machine profile. Unset numbers are nil. Each field
// says what it wants (see check), an example as in the file, and what it is.
type Machine struct {
	Units             string     `toml:"units" in:"mm|in" as:"\"in\"" is:"what a program means before its first G20 or G21: \"mm\" or \"in\""`
	ZAxis             string     `toml:"z_axis" in:"Z|U|V|W|A" as:"\"W\"" is:"the letter that moves the focus: Z, U, V, W or A"`
	ZPlus             string     `toml:"z_plus" in:"away|toward" as:"\"toward\"" is:"which way + takes the lens from the stock: \"away\" or \"toward\""`
	ZMoves            string     `toml:"z_moves" in:"always|beam-off|by-hand" as:"\"beam-off\"" is:"when Z may move: \"always\", \"beam-off\" (on travels only), \"by-hand\" (no Z is written)"`
	ZMinMM            *float64   `toml:"z_min_mm" as:"-20" is:"lowest Z that may be written; unset: no limit"`
	ZMaxMM            *float64   `toml:"z_max_mm" as:"40" is:"highest Z that may be written; unset: no limit"`
	XMM               *Reach     `toml:"x_mm" as:"[0, 600]" is:"reach of X, counted from the work zero: nothing goes beyond; unset: no limit"`
	YMM               *Reach     `toml:"y_mm" as:"[0, 400]" is:"the same of Y"`
	ZRateMMMin        *float64   `toml:"z_rate_mm_min" in:"(0,)" as:"600" is:"greatest speed of Z; unset: nothing limits it, and each run says so"`
	ZResolutionMM     *float64   `toml:"z_resolution_mm" in:"(0,)" as:"0.001" is:"smallest step of Z; unset: the last decimal written"`
	ZBacklashMM       *float64   `toml:"z_backlash_mm" in:"[0,)" as:"0.02" is:"lost motion of Z where it turns round; unset: none"`
	ZStepMM           *float64   `toml:"z_step_mm" in:"(0,)" as:"0.05" is:"one division of a hand crank"`
	FocusSettingMM    *float64   `toml:"focus_setting_mm" in:"[0,)" as:"0.1" is:"standard uncertainty of setting the focus by hand; unset: none"`
	RapidMMMin        float64    `toml:"rapid_mm_min" in:"(0,)" as:"6000" is:"speed of G0"`
	RapidsStraight    bool       `toml:"rapids_straight" as:"false" is:"whether G0 goes straight; false: each axis at its own rate"`
	AccelMMS2         *float64   `toml:"accel_mm_s2" in:"(0,)" as:"500" is:"acceleration of X and of Y: how far burns are run into at a seam, and how long programs take; unset: not known"`
	ZAccelMMS2        *float64   `toml:"z_accel_mm_s2" in:"(0,)" as:"50" is:"acceleration of Z, for times and to round its corners; unset: nothing limits it"`
	CornerMM          *float64   `toml:"corner_mm" in:"(0,)" as:"0.01" is:"how near to a corner the circle stays at whose speed the controller passes it; unset: 0.01 where accel_mm_s2 is known"`
	SpeedStepMMS      *float64   `toml:"speed_step_mm_s" in:"(0,)" as:"10" is:"change of speed that X and Y each take at once at a corner; counts instead of corner_mm"`
	ZSpeedStepMMS     *float64   `toml:"z_speed_step_mm_s" in:"(0,)" as:"0.4" is:"the same of Z"`
	StopsAtBeam       bool       `toml:"stops_at_beam" as:"true" is:"whether the controller stops at a word that puts the beam on or off"`
	FeedCountsZ       bool       `toml:"feed_counts_z" as:"false" is:"whether F is the speed along X, Y and Z together, not over XY alone"`
	FeedMaxMMMin      *float64   `toml:"feed_max_mm_min" in:"(0,)" as:"12000" is:"greatest F that is written; unset: no limit"`
	Decimals          *int       `toml:"decimals" as:"3" is:"decimals written in the profile's units, 0 to 6, two more or fewer in the other; unset: 3 in mm, 5 in inches"`                                                                                   // read it by DecimalsMM and DecimalsInch
	DecimalsMax       *int       `toml:"decimals_max" as:"5" is:"most decimals of a Z on short moves, where rounding it would slow the head, as accel_mm_s2 and what goes with it tell; in the profile's units as decimals are; unset: 5 in mm, 7 in inches"` // read it by DecimalsMaxMM and DecimalsMaxInch
	LineMax           *int       `toml:"line_max" unit:"characters" as:"256" is:"longest line the controller takes; unset: no limit"`
	LinesPerS         *float64   `toml:"lines_per_s" in:"(0,)" as:"500" is:"lines the controller takes in a second; unset: no limit"`
	Numbered          bool       `toml:"numbered" as:"true" is:"whether added lines carry N words"`
	BeamOn            MWords     `toml:"beam_on" as:"[\"M3\", \"M4\"]" is:"words that let the beam fire"`
	BeamOff           MWords     `toml:"beam_off" as:"[\"M5\"]" is:"words that stop it"`
	PowerWord         string     `toml:"power_word" as:"\"S\"" is:"the letter of the power"`
	SMax              float64    `toml:"s_max" in:"(0,)" unit:"the power word's" as:"255" is:"full power"`
	PowerFollowsSpeed MWords     `toml:"power_follows_speed" as:"[\"M4\"]" is:"those of beam_on under which the controller scales power with speed"`
	PowerScale        string     `toml:"power_scale" in:"share-of-F|speed" as:"\"speed\"" is:"how they scale it: by the share of F that is reached (\"share-of-F\"), so that a burn that is slowed gets less power with its F, or with \"speed\" itself"`
	PowerLeastPct     *float64   `toml:"power_least_pct" in:"[0,100]" unit:"%" as:"10" is:"power below which the source gives nothing, in percent of s_max: no burn is slowed so far; unset: no limit"`
	Harmless          MWords     `toml:"harmless" as:"[\"M106\"]" is:"M words that a rehearsal may keep, and any one program of a split: they must fire nothing and switch nothing"`
	RapidsFire        bool       `toml:"rapids_fire" as:"true" is:"whether G0 burns while the beam is on"`
	Comments          bool       `toml:"comments" as:"false" is:"whether the controller takes comments"`
	HeadRadiusMM      *float64   `toml:"head_radius_mm" in:"[0,)" as:"8" is:"radius of the head's tip, for its clearance over the stock; unset: not checked"`
	HeadMM            Steps      `toml:"head_mm" as:"[[4, 0], [30, 15]]" is:"in place of head_radius_mm, where the head is wider above its tip: radius, and height over the tip from which it counts; unset: head_radius_mm"`
	GapMinMM          *float64   `toml:"gap_min_mm" in:"[0,)" as:"1.5" is:"least gap that must stay between head and stock; unset: not checked"`
	TableMoves        bool       `toml:"table_moves" as:"true" is:"whether the table moves to set the focus, and not the head: sheets say table up and down"`
	GaugeFootMM       float64    `toml:"gauge_foot_mm" in:"(0,)" as:"10" is:"width of the focus gauge's foot, which the stock is to be flat under"`
	PointerOffsetMM   [2]float64 `toml:"pointer_offset_mm" as:"[25, 0]" is:"where the pointer's dot falls beside the beam: X, Y"`
	ProbeOffsetMM     [3]float64 `toml:"probe_offset_mm" as:"[12, 0, -3]" is:"where the probe's tip stands from the beam: X, Y, Z"`
	ProbeFeedMMMin    float64    `toml:"probe_feed_mm_min" in:"(0,)" as:"100" is:"speed of probing"`
	ProbeDepthMM      float64    `toml:"probe_depth_mm" in:"(0,)" as:"10" is:"how far below the expected surface a probe goes before it gives up"`
}

// Reach is from the least to the greatest place of an axis, in mm.
type Reach [2]float64

// The values of Machine's text fields.
const (
	UnitsMM   = "mm"
	UnitsInch = "in"

	Away   = "away"   // +Z takes the lens from the stock
	Toward = "toward" // +Z brings it nearer

	ZAlways  = "always"   // Z may move while the beam burns
	ZBeamOff = "beam-off" // Z moves on travels only
	ZByHand  = "by-hand"  // no Z words are written

	ShareOfF = "share-of-F" // power goes by the share of F that is reached
	BySpeed  = "speed"      // power goes with the speed
)

// MWords are M words by their numbers: "M3" is 3.
type MWords []int

// UnmarshalTOML reads a list of texts such as "M3".
func (w *MWords) UnmarshalTOML(v any) error {
	list, ok := v.([]any)
	if !ok {
		return errors.New(`wants M words in brackets, as in ["M3", "M4"]`)
	}
	*w = make(MWords, 0, len(list))
	for _, e := range list {
		s, _ := e.(string)
		digits, isM := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(s)), "M")
		n, err := strconv.ParseUint(digits, 10, 16)
		if err != nil || !isM {
			return fmt.Errorf(`wants M words in brackets, as in ["M3", "M106"]; %#v is none`, e)
		}
		*w = append(*w, int(n))
	}
	return nil
}

// DefaultMachine is the profile that holds where none is given. Each call
// gives one of its own.
func DefaultMachine() *Machine {
	return &Machine{
		Units: UnitsMM, ZAxis: "Z", ZPlus: Away, ZMoves: ZAlways,
		RapidMMMin: 6000, RapidsStraight: true, FeedCountsZ: true,
		BeamOn: MWords{3, 4}, BeamOff: MWords{5}, PowerWord: "S", SMax: 1000, PowerFollowsSpeed: MWords{4}, PowerScale: ShareOfF, Harmless: MWords{},
		Comments: true, GaugeFootMM: 10, ProbeFeedMMMin: 100, ProbeDepthMM: 10,
	}
}

// Sigma is the sign between a rise of the lens over the stock and +Z: +1 where
// +Z takes the lens away, −1 where it brings it nearer.
func (m *Machine) Sigma() float64 {
	if m.ZPlus == Toward {
		return -1
	}
	return 1
}

// Inches reports whether a program means inches before its first G20 or G21.
func (m *Machine) Inches() bool { return m.Units == UnitsInch }

const (
	// defaultDecimalsMM and defaultDecimalsInch write a micrometre and a
	// quarter of one.
	defaultDecimalsMM, defaultDecimalsInch = 3, 5
	// inchDecimalsMore is how many decimals more an inch of 25.4 mm takes to
	// be at least as fine: one would be coarser.
	inchDecimalsMore = defaultDecimalsInch - defaultDecimalsMM
	// maxDecimals is a nanometre in mm.
	maxDecimals = 6
	// defaultDecimalsMax are those in mm that a Z has at most where none are set.
	defaultDecimalsMax = 5
)

// DecimalsMM is how many decimals are written where a program is in mm. A set
// value counts for the profile's units; the other unit follows by two.
func (m *Machine) DecimalsMM() int {
	switch {
	case m.Decimals == nil:
		return defaultDecimalsMM
	case m.Inches():
		return max(0, *m.Decimals-inchDecimalsMore)
	}
	return *m.Decimals
}

// DecimalsInch is how many decimals are written where a program is in inches.
func (m *Machine) DecimalsInch() int {
	switch {
	case m.Decimals == nil:
		return defaultDecimalsInch
	case m.Inches():
		return *m.Decimals
	}
	return *m.Decimals + inchDecimalsMore
}

// DecimalsMaxMM is how many decimals a Z has at most where a program is in mm, no fewer
// than usual. A set value counts for the profile's units; the other unit follows by two.
func (m *Machine) DecimalsMaxMM() int {
	most := defaultDecimalsMax
	if m.DecimalsMax != nil {
		if most = *m.DecimalsMax; m.Inches() {
			most -= inchDecimalsMore
		}
	}
	return max(most, m.DecimalsMM())
}

// DecimalsMaxInch is how many decimals a Z has at most where a program is in inches.
func (m *Machine) DecimalsMaxInch() int {
	most := defaultDecimalsMax + inchDecimalsMore
	if m.DecimalsMax != nil {
		if most = *m.DecimalsMax; !m.Inches() {
			most += inchDecimalsMore
		}
	}
	return max(most, m.DecimalsInch())
}

// Written is the unit in mm of a program that is made for the bench, and with how many
// decimals lengths are written in it.
func (m *Machine) Written() (unitMM float64, decimals int) {
	if m.Inches() {
		return 25.4, m.DecimalsInch()
	}
	return 1, m.DecimalsMM()
}

// ReadMachine reads a machine profile; name stands for the file in errors.
// What the file leaves out keeps its default; power_follows_speed, left out,
// keeps of its default what beam_on has. An error of content is a
// *diag.Error.
func ReadMachine(r io.Reader, name string) (*Machine, error) {
	m := DefaultMachine()
	lines, err := readSettings(r, name, m)
	if err != nil {
		return nil, err
	}
	if _, said := lines["power_follows_speed"]; !said {
		m.PowerFollowsSpeed = slices.DeleteFunc(m.PowerFollowsSpeed, func(w int) bool {
			return !slices.Contains(m.BeamOn, w)
		})
	}
	if err := m.Validate(); err != nil {
		return nil, place(err, name, lines)
	}
	return m, nil
}

// Config is how blocks become moves on the bench, beginning at a Z of startZ mm
// and, where that is known, at a place in program XY.
func (m *Machine) Config(start *[2]float64, startZ float64) machine.Config {
	c := machine.Config{
		Inches: m.Inches(), ZAxis: m.ZAxis[0], PowerWord: m.PowerWord[0],
		BeamOn: m.BeamOn, BeamOff: m.BeamOff, PowerFollows: m.PowerFollowsSpeed,
		RapidsFire: m.RapidsFire, RapidMMMin: m.RapidMMMin, RapidsStraight: m.RapidsStraight, FeedCountsZ: m.FeedCountsZ,
	}
	c.Start.Z = startZ
	if start != nil {
		c.Start.X, c.Start.Y, c.StartXYKnown = start[0], start[1], true
	}
	return c
}
