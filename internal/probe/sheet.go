package probe

import (
	"bytes"
	"embed"
	"fmt"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/table"
)

//go:embed text/*.txt
var textFiles embed.FS

var texts = phrase.NewTexts(textFiles, nil)

// sheetHeader names the columns of a sheet.
const sheetHeader = "nr,x_mm,y_mm,height_mm"

// Filled reports whether a sheet holds anything that a blank one does not: a height, or
// another text altogether. It is not to be lost.
func Filled(sheet []byte) bool { return table.Filled(sheet, sheetHeader, "") }

// Sheet gives the places as a CSV with blank heights, numbered as on the map, to be filled
// in by hand: it begins with how, in comments. feelerMM is how thick the strip under the
// gauge is, 0 where nobody said.
// The first is to be measured again at the end.
func (p *Probing) Sheet(title string, feelerMM float64) []byte {
	var out bytes.Buffer
	for _, line := range texts.Lines("sheet", map[string]any{"Title": title, "Zero": p.Zero, "FeelerMM": feelerMM, "Row": p.lattice()}) {
		for _, l := range phrase.Fold(line, setup.Columns, "# ", "#   ") {
			out.WriteString(l + "\n")
		}
	}
	if p.Zero == "" {
		// So heights count from there wherever the zero was set, and a strip cancels.
		fmt.Fprintf(&out, "# datum: %s,%s\n", phrase.Trimmed(p.Places[0][0], 3), phrase.Trimmed(p.Places[0][1], 3))
	}
	out.WriteString(sheetHeader + "\n")
	for k := range len(p.Places) + 1 {
		k %= len(p.Places)
		q := p.Places[k]
		fmt.Fprintf(&out, "%d,%s,%s,\n", k+1, phrase.Trimmed(q[0], 3), phrase.Trimmed(q[1], 3))
	}
	return out.Bytes()
}
