package measured

import (
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
)

// Verdict is what an operator says of one rung of a ladder.
type Verdict struct {
	OffsetMM float64  // minus nearer the lens, plus further
	PowerPct *float64 // nil: not said
	Judged   bool
	Sharp    bool
}

// Verdicts are a ladder's sheet as it was filled in: the rungs in the order
// they were marked, and what the ladder was.
type Verdicts struct {
	Rungs     []Verdict
	Material  string   // empty: not said
	FeedMMMin *float64 // these are nil where not said
	StepMM    *float64
	ReachMM   *float64
	DetailMM  *float64
	// Ticked tells that sharp rungs were ticked and the others left blank, so
	// that blank means not sharp.
	Ticked bool
}

var (
	yes = map[string]bool{"y": true, "yes": true, "1": true, "true": true, "sharp": true}
	no  = map[string]bool{"n": true, "no": true, "0": true, "false": true, "-": true}
)

// tick marks a sharp rung on a sheet where the others stay blank.
const tick = "x"

// ReadVerdicts reads the filled sheet of a ladder: settings as comments
// "# key: value", a header that names offset_mm, sharp and perhaps power_pct,
// and a row to each rung. Sharp is y or n (yes, no, 1, 0, true, false), blank
// where it was not judged, or x with the others blank. name stands for the
// file in errors. What cannot be read as such is a *diag.Error.
func ReadVerdicts(r io.Reader, name string) (*Verdicts, error) {
	t, err := readTable(r, name)
	if err != nil {
		return nil, err
	}
	v := &Verdicts{Material: t.settings["material"].cell(0).text}
	for key, to := range map[string]**float64{"feed_mm_min": &v.FeedMMMin, "step_mm": &v.StepMM, "reach_mm": &v.ReachMM, "detail_mm": &v.DetailMM} {
		w, ok := t.settings[key]
		if !ok {
			continue
		}
		n, err := w.number(0, key)
		if err != nil {
			return nil, err
		}
		if !(n > 0) {
			return nil, w.fail(w.cell(0).col, "%s %s is not above zero", key, quote(w.cell(0).text))
		}
		*to = &n
	}
	if len(t.rows) == 0 {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: 1, Col: 1}, What: "no rungs in this file; it wants the header rung,offset_mm,power_pct,sharp and a row to each rung"}
	}
	offset, power, sharp, err := verdictColumns(t.rows[0])
	if err != nil {
		return nil, err
	}
	ticks, refusals := 0, 0
	for _, w := range t.rows[1:] {
		rung, err := w.verdict(offset, power, sharp)
		if err != nil {
			return nil, err
		}
		if strings.EqualFold(w.cell(sharp).text, tick) {
			ticks++
		}
		if rung.Judged && !rung.Sharp {
			refusals++
		}
		v.Rungs = append(v.Rungs, rung)
	}
	if len(v.Rungs) == 0 {
		return nil, t.rows[0].fail(1, "no rungs follow this header")
	}
	if v.Ticked = ticks > 0 && refusals == 0; v.Ticked {
		for i := range v.Rungs {
			v.Rungs[i].Judged = true
		}
	}
	return v, nil
}

// verdictColumns finds the columns; others may stand beside them.
func verdictColumns(w row) (offset, power, sharp int, err error) {
	offset, power, sharp = -1, -1, -1
	for k, f := range w.cells {
		for name, at := range map[string]*int{"offset_mm": &offset, "power_pct": &power, "sharp": &sharp} {
			if strings.EqualFold(f.text, name) {
				if *at >= 0 {
					return 0, 0, 0, w.fail(f.col, "column %s stands here twice", name)
				}
				*at = k
			}
		}
	}
	for _, c := range []struct {
		name string
		at   int
	}{{"offset_mm", offset}, {"sharp", sharp}} {
		if c.at < 0 {
			return 0, 0, 0, w.fail(1, "no column %s in the header: it wants rung,offset_mm,power_pct,sharp", c.name)
		}
	}
	return offset, power, sharp, nil
}

func (w row) verdict(offset, power, sharp int) (Verdict, error) {
	var v Verdict
	var err error
	if v.OffsetMM, err = w.number(offset, "offset_mm"); err != nil {
		return v, err
	}
	if math.Abs(v.OffsetMM) > maxLengthMM {
		return v, w.fail(w.cell(offset).col, "offset_mm %s is beyond any bench", quote(w.cell(offset).text))
	}
	if f := w.cell(power); power >= 0 && f.text != "" {
		p, err := w.number(power, "power_pct")
		if err != nil {
			return v, err
		}
		if !(p > 0 && p <= 100) {
			return v, w.fail(f.col, "power_pct %s is not above 0 and at most 100", quote(f.text))
		}
		v.PowerPct = &p
	}
	f := w.cell(sharp)
	switch said := strings.ToLower(f.text); {
	case said == "":
	case yes[said] || said == tick:
		v.Judged, v.Sharp = true, true
	case no[said]:
		v.Judged = true
	default:
		return v, w.fail(f.col, "sharp %s is neither y nor n; leave it blank where it was not judged", quote(f.text))
	}
	return v, nil
}
