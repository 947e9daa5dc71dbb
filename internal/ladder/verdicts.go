package ladder

import (
	"bytes"
	"fmt"

	"sagitta/internal/phrase"
	"sagitta/internal/table"
)

// VerdictHeader are the columns of the list of verdicts.
const VerdictHeader = "rung,offset_mm,power_pct,sharp"

// materialKey is that of the line that names the stock, for the operator to fill in.
const materialKey = "material"

// Verdicts gives the list to write verdicts on: settings as "# key: value",
// the header, and a row for each rung with its verdict blank.
func (l *Ladder) Verdicts() []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b, "# focus ladder, made by", l.opt.Made)
	fmt.Fprintln(&b, "# write yes or no under sharp, and the stock behind material")
	fmt.Fprintf(&b, "# %s:\n", materialKey)
	fmt.Fprintf(&b, "# feed_mm_min: %s\n", exact(l.opt.FeedMMMin))
	fmt.Fprintf(&b, "# step_mm: %s\n# reach_mm: %s\n# detail_mm: %s\n", exact(l.StepMM), exact(l.ReachMM), exact(DetailMM))
	fmt.Fprintln(&b, VerdictHeader)
	for _, r := range l.Rungs {
		fmt.Fprintf(&b, "%d,%s,%s,\n", r.No, exact(r.OffsetMM), exact(r.PowerPct))
	}
	return b.Bytes()
}

// exact writes a number with as many decimals as a step of six digits has.
func exact(v float64) string { return phrase.Trimmed(v, 6) }

// Filled reports whether a list holds anything that a blank one does not:
// verdicts, the name of the stock, or another text altogether. It is not to be
// lost.
func Filled(list []byte) bool { return table.Filled(list, VerdictHeader, materialKey) }
