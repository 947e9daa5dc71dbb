package probe

import (
	"path/filepath"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/record"
)

// BenchOf is what a program that touches for the file program is written for:
// clearMM over the datum between touches, by the tool made. The error, a
// *diag.Error, is that Z would leave its range.
func BenchOf(m *record.Machine, program string, clearMM float64, made string) (*Bench, error) {
	// A file's name must not end the comment.
	plain := strings.NewReplacer("(", "_", ")", "_", "\n", "_", "\r", "_").Replace(filepath.Base(program))
	b := &Bench{
		Inches: m.Inches(), Decimals: m.DecimalsMM(), ZAxis: m.ZAxis[0], Sigma: m.Sigma(), PowerWord: m.PowerWord[0],
		OffsetMM: m.ProbeOffsetMM, FeedMMMin: m.ProbeFeedMMMin, DepthMM: m.ProbeDepthMM, ClearMM: clearMM, Comments: m.Comments,
		Made: made + " probe of " + plain,
	}
	if m.Inches() {
		b.Decimals = m.DecimalsInch()
	}
	if len(m.BeamOff) > 0 {
		b.BeamOff = m.BeamOff[0]
	}
	for _, z := range []float64{b.Sigma * b.ClearMM, -b.Sigma * b.DepthMM} {
		if m.ZMinMM != nil && z < *m.ZMinMM || m.ZMaxMM != nil && z > *m.ZMaxMM {
			return nil, diag.Errorf(diag.Setting, "give a smaller --clear, or another probe_depth_mm or range in the profile",
				"touching would take Z to %g mm, beyond the profile's range", z)
		}
	}
	return b, nil
}
