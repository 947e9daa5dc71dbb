package fit

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"

	"sagitta/internal/phrase"
	"sagitta/internal/surface/file"
)

// MostNamed is how many touches left out are named one by one.
const MostNamed = 20

// Text is the file of the surface; made names what made it.
func (m *Measured) Text(made string) ([]byte, error) {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s surface, from %s, sha256:%s\n", made, phrase.Printable(filepath.Base(m.Name)), m.Reading.Digest)
	fmt.Fprintf(&b, "# fit %s to %s%s\n", m.Choice.Name, phrase.Count(len(m.Points), "point"), m.Form())
	if len(m.LeftOut) > 0 {
		b.WriteString("# left out")
		for k, p := range m.LeftOut {
			if k == MostNamed {
				fmt.Fprintf(&b, " and %d more", len(m.LeftOut)-k)
				break
			}
			fmt.Fprintf(&b, " line %d (%+.3f)", p.Line, p.OffMM)
		}
		b.WriteByte('\n')
	}
	if n := len(m.Written.Filled); n > 0 {
		fmt.Fprintf(&b, "# filled %s inside the hull of the points", phrase.Count(n, "height"))
		for k, p := range m.Written.Filled {
			if k%8 == 0 {
				b.WriteString("\n# filled at")
			}
			fmt.Fprintf(&b, " X%g Y%g", p[0], p[1])
		}
		b.WriteByte('\n')
	}
	if err := file.Write(&b, m.Written.Surface); err != nil {
		return nil, err
	}
	if _, err := file.Read(bytes.NewReader(b.Bytes()), m.Name); err != nil {
		return nil, fmt.Errorf("the surface cannot be written so that it can be read: %w", err)
	}
	return b.Bytes(), nil
}

// Form says what a round form is like, to be read after its name; "" of
// another.
func (m *Measured) Form() string {
	r := m.Choice.Round
	if r == nil {
		return ""
	}
	sure := func(u float64) string {
		if math.IsInf(u, 0) {
			return ""
		}
		return fmt.Sprintf(" +- %s (95 %%)", phrase.Short(u))
	}
	text := fmt.Sprintf(", radius %s%s mm", phrase.MM(r.RadiusMM), sure(r.RadiusU95MM))
	if r.Hollow {
		text = ", hollow" + text
	}
	top := phrase.XY(r.Top[0], r.Top[1])
	if m.Choice.Name == "sphere" {
		return text + fmt.Sprintf(", top at %s, height %s mm", top, phrase.MM(r.Top[2]))
	}
	text += fmt.Sprintf(", axis at %.2f degrees to x through %s, its top line at %s mm rising by %s",
		r.AxisDeg, top, phrase.MM(r.Top[2]), phrase.Signed(r.TopSlope, 4))
	if m.Choice.Name == "cone" {
		text += fmt.Sprintf(", taper %.5f of radius along it%s", r.Taper, sure(r.TaperU95))
	}
	return text
}
