package measured

import (
	"errors"
	"io"
	"math"
	"strings"

	"sagitta/internal/table"
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
	t, v := newTable(r, name), &Verdicts{}
	t.Setting = func(key string) error { return v.setting(key, &t.Row) }
	switch err := t.Next(); {
	case errors.Is(err, io.EOF):
		return nil, t.FailFile("no rungs in this file; it wants the header rung,offset_mm,power_pct,sharp and a row to each rung")
	case err != nil:
		return nil, err
	}
	cols, err := verdictColumns(&t.Row)
	if err != nil {
		return nil, err
	}
	ticks, refusals := 0, 0
	for {
		err := t.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		rung, err := cols.verdict(&t.Row)
		if err != nil {
			return nil, err
		}
		if strings.EqualFold(string(t.Text(cols.sharp)), tick) {
			ticks++
		}
		if rung.Judged && !rung.Sharp {
			refusals++
		}
		v.Rungs = append(v.Rungs, rung)
	}
	if len(v.Rungs) == 0 {
		return nil, t.Fail(-1, "no rungs follow this header")
	}
	if v.Ticked = ticks > 0 && refusals == 0; v.Ticked {
		for i := range v.Rungs {
			v.Rungs[i].Judged = true
		}
	}
	return v, nil
}

// setting takes what the ladder was from a comment of the sheet.
func (v *Verdicts) setting(key string, row *table.Row) error {
	to := map[string]**float64{"feed_mm_min": &v.FeedMMMin, "step_mm": &v.StepMM, "reach_mm": &v.ReachMM, "detail_mm": &v.DetailMM}[key]
	switch {
	case len(row.Text(0)) == 0:
	case key == "material":
		v.Material = string(row.Text(0))
	case to != nil:
		n, err := row.Number(0, key)
		if err != nil {
			return err
		}
		if !(n > 0) {
			return row.Fail(0, "%s %s is not above zero", key, table.Quote(row.Text(0)))
		}
		*to = &n
	}
	return nil
}

// verdictAt is where the columns of verdicts stand; -1: none.
type verdictAt struct{ offset, power, sharp int }

// verdictColumns finds the columns; others may stand beside them.
func verdictColumns(row *table.Row) (verdictAt, error) {
	at := verdictAt{-1, -1, -1}
	for k := range row.Len() {
		for name, to := range map[string]*int{"offset_mm": &at.offset, "power_pct": &at.power, "sharp": &at.sharp} {
			if strings.EqualFold(string(row.Text(k)), name) {
				if *to >= 0 {
					return at, row.Fail(k, "column %s stands here twice", name)
				}
				*to = k
			}
		}
	}
	missing := ""
	switch {
	case at.offset < 0:
		missing = "offset_mm"
	case at.sharp < 0:
		missing = "sharp"
	default:
		return at, nil
	}
	return at, row.Fail(-1, "no column %s in the header: it wants rung,offset_mm,power_pct,sharp", missing)
}

// verdict reads a row.
func (at *verdictAt) verdict(row *table.Row) (Verdict, error) {
	var v Verdict
	var err error
	if v.OffsetMM, err = row.Number(at.offset, "offset_mm"); err != nil {
		return v, err
	}
	if math.Abs(v.OffsetMM) > maxLengthMM {
		return v, row.Fail(at.offset, "offset_mm %s is beyond any bench", table.Quote(row.Text(at.offset)))
	}
	if at.power >= 0 && len(row.Text(at.power)) > 0 {
		p, err := row.Number(at.power, "power_pct")
		if err != nil {
			return v, err
		}
		if !(p > 0 && p <= 100) {
			return v, row.Fail(at.power, "power_pct %s is not above 0 and at most 100", table.Quote(row.Text(at.power)))
		}
		v.PowerPct = &p
	}
	switch said := strings.ToLower(string(row.Text(at.sharp))); {
	case said == "":
	case yes[said] || said == tick:
		v.Judged, v.Sharp = true, true
	case no[said]:
		v.Judged = true
	default:
		return v, row.Fail(at.sharp, "sharp %s is neither y nor n; leave it blank where it was not judged", table.Quote(row.Text(at.sharp)))
	}
	return v, nil
}
