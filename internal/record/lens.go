package record

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/optics"
)

// Lens is a lens record: what is known of a lens on a bench. Unset numbers are
// nil. Each field says what it wants (see check), an example as in the file, and
// what it is.
type Lens struct {
	Name             string      `toml:"name" as:"\"short\"" is:"what the lens is called; unset: the file's name"`
	FocalLengthMM    *float64    `toml:"focal_length_mm" in:"(0,)" as:"38.1" is:"focal length"`
	WavelengthNM     *float64    `toml:"wavelength_nm" in:"(0,)" as:"10600" is:"wavelength of the beam, 100 to 20000"`
	WaistUM          *float64    `toml:"waist_um" in:"(0,)" as:"90" is:"1/e² diameter of the beam at best focus"`
	RayleighMM       *float64    `toml:"rayleigh_mm" in:"(0,)" as:"0.46" is:"distance from best focus at which that diameter has grown by √2"`
	M2               *float64    `toml:"m2" in:"(0,)" as:"1.3" is:"beam quality M², 1 for the ideal beam"`
	DepthMM          *[2]float64 `toml:"depth_mm" as:"[-1.5, 1.5]" is:"what was still sharp: nearer below zero, further above; wins over the beam's fields"`
	TestedOn         string      `toml:"tested_on" as:"\"birch plywood\"" is:"the stock on which depth_mm was seen"`
	TestedPowerPct   *float64    `toml:"tested_power_pct" in:"(0,)" as:"30" is:"the power at which it was seen, in percent of the greatest"`
	TestedFeedMMMin  *float64    `toml:"tested_feed_mm_min" in:"(0,)" as:"3000" is:"the feed at which it was seen"`
	DepthErrorMM     *float64    `toml:"depth_error_mm" in:"[0,)" as:"0.25" is:"standard uncertainty of either side of depth_mm: twice it is taken off the depth, with what else is not sure; of a ladder half a step at best"`
	FocusShiftMM     *float64    `toml:"focus_shift_mm" as:"0.5" is:"where best focus lay against the bench's zero when depth_mm was seen, + further: each run says to set the focus so far off the gauge, unless depth_mm counts from that zero, its middle being there"`
	UsualDefocusMM   *float64    `toml:"usual_defocus_mm" as:"0.8" is:"the defocus that tested_on is usually marked with, + further; the default of --defocus"`
	SmallestDetailMM *float64    `toml:"smallest_detail_mm" in:"(0,)" as:"0.5" is:"the smallest detail that stays legible"`
	FocusHeightMM    float64     `toml:"focus_height_mm" as:"0" is:"how much further from the stock this lens stands at best focus than the bench's reference lens"`
	StandoffMM       *float64    `toml:"standoff_mm" in:"(0,)" as:"6" is:"tip of the head to the stock at best focus, with this lens"`
	SpotShiftMM      *[2]float64 `toml:"spot_shift_mm" as:"[0.2, 0]" is:"where its spot stands beside that of the bench's reference lens: X, Y; unset: not known"`
}

// AssumedGrowth is how far the beam may widen over its waist where the record
// has no depth of its own: ten percent, by which neighbouring lines of a
// raster still meet. It is an assumption, and Lens.Depth says where it is used.
const AssumedGrowth = 1.10

const (
	// agreement is how far apart two ways to the same quantity may be: about
	// what a careful measurement of waist and beam quality reaches.
	agreement = 0.05
	// shortestNM and longestNM bound a wavelength; the lasers that mark stock
	// lie well within, and a slip of unit (µm, mm, m) well outside.
	shortestNM, longestNM = 100, 20000
)

// ReadLens reads a lens record; name stands for the file in errors. A record
// without a name takes the file's, less ".toml". An error of content is a
// *diag.Error.
func ReadLens(r io.Reader, name string) (*Lens, error) {
	var l Lens
	lines, err := readSettings(r, name, &l)
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, What: "has no field of a lens record, such as depth_mm = [-1.5, 1.5]"}
	}
	if err := l.Validate(); err != nil {
		return nil, place(err, name, lines)
	}
	l.Name = cmp.Or(l.Name, printable(strings.TrimSuffix(filepath.Base(name), ".toml")))
	return &l, nil
}

// Validate checks every field and whether they agree. The error is a
// *diag.Error without file and line.
func (l *Lens) Validate() error {
	if err := check(l); err != nil {
		return err
	}
	switch d := l.DepthMM; {
	case l.WavelengthNM != nil && !plausible(*l.WavelengthNM):
		return wrong("wavelength_nm", "wants %d to %d nm, not %g%s", shortestNM, longestNM, *l.WavelengthNM, slip(*l.WavelengthNM))
	case l.M2 != nil && *l.M2 < 1-agreement:
		return wrong("m2", "wants 1 or more, not %g: no beam is better than the ideal one", *l.M2)
	case d != nil && (focus.Depth{Near: -d[0], Far: d[1]}).Check() != nil:
		return wrong("depth_mm", "wants nearer below zero, then further above, as in [-1.5, 1.5], not [%g, %g]", d[0], d[1])
	case l.TestedPowerPct != nil && *l.TestedPowerPct > 100:
		return wrong("tested_power_pct", "wants at most 100 percent, not %g", *l.TestedPowerPct)
	}
	return l.checkBeam()
}

func plausible(nm float64) bool { return nm >= shortestNM && nm <= longestNM }

// slip says in which other unit a wavelength may have been meant.
func slip(nm float64) string {
	text := ""
	for _, u := range []struct {
		name string
		nm   float64
	}{{"µm", 1e3}, {"mm", 1e6}, {"m", 1e9}} {
		if v := nm * u.nm; plausible(v) {
			text = fmt.Sprintf("; if it was meant in %s, write %.6g", u.name, v)
		}
	}
	return text
}

// checkBeam holds the beam's fields against each other: any one of waist,
// Rayleigh length, wavelength and M² follows from the other three.
func (l *Lens) checkBeam() error {
	if zR, _ := l.Rayleigh(); zR != nil && (!(*zR > 0) || math.IsInf(*zR, 0)) {
		return wrong("waist_um", "with wavelength_nm and m2 it gives a rayleigh length of %g mm, no beam", *zR)
	}
	if l.WaistUM == nil || l.WavelengthNM == nil {
		return nil
	}
	if um := *l.WavelengthNM / 1000; *l.WaistUM < um {
		return wrong("waist_um", "%g µm is less than the wavelength of %g µm, which no lens reaches; is it in mm?", *l.WaistUM, um)
	}
	if l.RayleighMM == nil {
		return nil
	}
	if l.M2 == nil {
		if m2 := optics.Quality(*l.WaistUM/1000, *l.RayleighMM, *l.WavelengthNM); m2 < 1-agreement {
			return wrong("rayleigh_mm", "with waist_um and wavelength_nm it gives m2 = %.3g, and none is below 1: measure again, or leave one out", m2)
		}
		return nil
	}
	zR := optics.Rayleigh(*l.WaistUM/1000, *l.M2, *l.WavelengthNM)
	if math.Abs(zR/(*l.RayleighMM)-1) > agreement {
		return wrong("rayleigh_mm", "%g mm, but waist_um, wavelength_nm and m2 give %.3g mm: they may differ by %g percent; correct one, or leave it out",
			*l.RayleighMM, zR, 100*agreement)
	}
	return nil
}

// countedFrom is within what the middle of a depth is where best focus was, in mm: the
// digits that records have.
const countedFrom = 1e-4

// FocusShift is how much further than the bench's zero, as its gauge sets it, the focus
// is to be set, for the depth counts from there: 0 where it counts from that zero.
func (l *Lens) FocusShift() float64 {
	shift := Known(l.FocusShiftMM)
	if d := l.DepthMM; d != nil && math.Abs((d[0]+d[1])/2-shift) <= countedFrom {
		return 0
	}
	return shift
}

// Rayleigh gives the Rayleigh length in mm and the fields it comes from, or nil
// and what is missing.
func (l *Lens) Rayleigh() (*float64, string) {
	if l.RayleighMM != nil {
		return l.RayleighMM, "rayleigh_mm"
	}
	var missing []string
	for _, f := range []struct {
		name string
		v    *float64
	}{{"waist_um", l.WaistUM}, {"wavelength_nm", l.WavelengthNM}, {"m2", l.M2}} {
		if f.v == nil {
			missing = append(missing, f.name)
		}
	}
	if missing != nil {
		return nil, "no depth_mm, no rayleigh_mm, and to work it out " + strings.Join(missing, ", ") + " is missing"
	}
	zR := optics.Rayleigh(*l.WaistUM/1000, *l.M2, *l.WavelengthNM)
	return &zR, "waist_um, wavelength_nm and m2"
}

// LensDepth is a lens's depth and where it comes from.
type LensDepth struct {
	focus.Depth
	// Assumed tells that the depth is worked out for AssumedGrowth instead of
	// having been seen: whoever uses it says so.
	Assumed bool
	// From names the record's fields it comes from; of a record without
	// depth, what is missing.
	From string
}

// Depth gives the depth in mm of a valid record: depth_mm, else
// ±zR·√(k² − 1) with k = AssumedGrowth; false for a record without depth.
func (l *Lens) Depth() (LensDepth, bool) {
	if d := l.DepthMM; d != nil {
		return LensDepth{Depth: focus.Depth{Near: -d[0], Far: d[1]}, From: "depth_mm"}, true
	}
	zR, from := l.Rayleigh()
	if zR == nil {
		return LensDepth{From: from}, false
	}
	half := optics.HalfDepth(*zR, AssumedGrowth)
	return LensDepth{focus.Depth{Near: half, Far: half}, true,
		fmt.Sprintf("%s, for a beam wider by %.0f percent", from, 100*(AssumedGrowth-1))}, true
}
