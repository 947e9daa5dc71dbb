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

// Machine is a machine profile. Unset numbers are nil. MachineFields explains
// each field and gives its default.
type Machine struct {
	Units             string     `toml:"units"`   // UnitsMM or UnitsInch
	ZAxis             string     `toml:"z_axis"`  // one letter
	ZPlus             string     `toml:"z_plus"`  // Away or Toward
	ZMoves            string     `toml:"z_moves"` // ZAlways, ZBeamOff or ZByHand
	ZMinMM            *float64   `toml:"z_min_mm"`
	ZMaxMM            *float64   `toml:"z_max_mm"`
	ZRateMMMin        *float64   `toml:"z_rate_mm_min"`
	ZResolutionMM     *float64   `toml:"z_resolution_mm"`
	ZBacklashMM       *float64   `toml:"z_backlash_mm"`
	ZStepMM           *float64   `toml:"z_step_mm"`
	FocusSettingMM    *float64   `toml:"focus_setting_mm"`
	RapidMMMin        float64    `toml:"rapid_mm_min"`
	FeedCountsZ       bool       `toml:"feed_counts_z"`
	FeedMaxMMMin      *float64   `toml:"feed_max_mm_min"`
	Decimals          *int       `toml:"decimals"` // read it by DecimalsMM and DecimalsInch
	LineMax           *int       `toml:"line_max"`
	LinesPerS         *float64   `toml:"lines_per_s"`
	Numbered          bool       `toml:"numbered"`
	BeamOn            MWords     `toml:"beam_on"`
	BeamOff           MWords     `toml:"beam_off"`
	PowerWord         string     `toml:"power_word"` // one letter
	SMax              float64    `toml:"s_max"`
	PowerFollowsSpeed MWords     `toml:"power_follows_speed"`
	RapidsFire        bool       `toml:"rapids_fire"`
	Comments          bool       `toml:"comments"`
	HeadRadiusMM      *float64   `toml:"head_radius_mm"`
	GapMinMM          *float64   `toml:"gap_min_mm"`
	ProbeOffsetMM     [3]float64 `toml:"probe_offset_mm"`
	ProbeFeedMMMin    float64    `toml:"probe_feed_mm_min"`
	ProbeDepthMM      float64    `toml:"probe_depth_mm"`
}

// The values of Machine's text fields.
const (
	UnitsMM   = "mm"
	UnitsInch = "in"

	Away   = "away"   // +Z takes the lens from the stock
	Toward = "toward" // +Z brings it nearer

	ZAlways  = "always"   // Z may move while the beam burns
	ZBeamOff = "beam-off" // Z moves on travels only
	ZByHand  = "by-hand"  // no Z words are written
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
		RapidMMMin: 6000, FeedCountsZ: true,
		BeamOn: MWords{3, 4}, BeamOff: MWords{5}, PowerWord: "S", SMax: 1000, PowerFollowsSpeed: MWords{4},
		Comments: true, ProbeFeedMMMin: 100, ProbeDepthMM: 10,
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
		RapidsFire: m.RapidsFire, RapidMMMin: m.RapidMMMin, FeedCountsZ: m.FeedCountsZ,
	}
	c.Start.Z = startZ
	if start != nil {
		c.Start.X, c.Start.Y, c.StartXYKnown = start[0], start[1], true
	}
	return c
}
