package say

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/optics"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// growths are the growths of the spot that the table of lenses has a depth
// for; the last is that at the Rayleigh length.
var growths = []float64{1.05, 1.10, math.Sqrt2}

// Lenses is the table of what records mean, side by side, and for a detail in
// mm, 0 for none, that is called what, on a screen.
func Lenses(lenses []*record.Lens, detailMM float64, what string, on Screen) string {
	t := &Table{Gap: 3, Width: on.Columns}
	row := rowsOf(t, lenses, unknown)
	field := func(name string, format func(float64) string, get func(*record.Lens) *float64) {
		row(name, func(l *record.Lens) string {
			if v := get(l); v != nil {
				return format(*v)
			}
			return ""
		})
	}
	plain := func(v float64) string { return fmt.Sprintf("%.6g", v) }
	rayleigh := func(l *record.Lens) *float64 {
		zR, _ := l.Rayleigh()
		return zR
	}
	row("lens", func(l *record.Lens) string { return l.Name })
	field("focal length, mm", plain, func(l *record.Lens) *float64 { return l.FocalLengthMM })
	field("wavelength, nm", plain, func(l *record.Lens) *float64 { return l.WavelengthNM })
	row("M²", func(l *record.Lens) string {
		if m2, ok := l.Quality(); ok {
			return fmt.Sprintf("%.3g", m2)
		}
		return ""
	})
	field("spot at best focus, 1/e², µm", phrase.Short, func(l *record.Lens) *float64 {
		if spot, ok := l.Spot(); ok {
			spot *= 1000
			return &spot
		}
		return nil
	})
	field("rayleigh length, mm", phrase.Short, rayleigh)
	row("depth, mm", func(l *record.Lens) string { return depthOf(l.Depth()) })
	field("standard uncertainty of either side, mm", plain, func(l *record.Lens) *float64 { return l.DepthErrorMM })
	for _, k := range growths {
		field(fmt.Sprintf("depth for a growth of %.0f %%, mm", 100*(k-1)), func(zR float64) string {
			return "± " + phrase.Short(optics.HalfDepth(zR, k))
		}, rayleigh)
	}
	if detailMM > 0 {
		row("depth for "+what+", mm", func(l *record.Lens) string {
			d, ok := l.DepthFor(detailMM)
			switch {
			case ok:
				return depthOf(d, ok)
			case d.Assumed:
				return "none"
			}
			return unknown
		})
	}
	field("smallest detail seen, mm", plain, func(l *record.Lens) *float64 { return l.SmallestDetailMM })
	row("tested on", func(l *record.Lens) string { return l.TestedOn })
	field("with power, %", plain, func(l *record.Lens) *float64 { return l.TestedPowerPct })
	field("and feed, mm/min", plain, func(l *record.Lens) *float64 { return l.TestedFeedMMMin })
	field("best focus against the bench's zero, mm", phrase.Offset, func(l *record.Lens) *float64 { return l.FocusShiftMM })
	field("usual defocus, mm", plain, func(l *record.Lens) *float64 { return l.UsualDefocusMM })
	if slices.ContainsFunc(lenses, func(l *record.Lens) bool { return l.FocusHeightMM != 0 }) {
		row("further from the stock than the reference lens by, mm", func(l *record.Lens) string { return phrase.Offset(l.FocusHeightMM) })
	}
	field("tip over the stock at best focus, mm", plain, func(l *record.Lens) *float64 { return l.StandoffMM })
	row("spot beside that of the reference lens, mm", func(l *record.Lens) string {
		if s := l.SpotShiftMM; s != nil {
			return phrase.XY(s[0], s[1])
		}
		return ""
	})
	return t.String()
}

func depthOf(d record.LensDepth, known bool) string {
	switch {
	case !known:
		return ""
	case d.Assumed:
		return phrase.Sides(d.Near, d.Far) + ", assumed"
	}
	return phrase.Sides(d.Near, d.Far)
}

// LensDepth says where a depth comes from, or what is missing.
func LensDepth(name, what string, d record.LensDepth, known bool) string {
	how := ": from "
	switch {
	case !known:
		how = " not known: "
	case d.Assumed:
		how = " assumed: from "
	}
	return name + ": " + what + how + d.From
}
