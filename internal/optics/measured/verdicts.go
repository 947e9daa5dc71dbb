package measured

import (
	"io"
	"math"
	"strings"

	"sagitta/internal/table"
)

// Judgement is what an operator says of one rung of a ladder.
type Judgement struct {
	OffsetMM float64 // minus nearer the lens, plus further
	PowerPct float64 // 0: not said
	Judged   bool
	Sharp    bool
}

// Verdicts are a ladder's sheet as it was filled in: the rungs in the order
// they were marked, and what the ladder was.
type Verdicts struct {
	Rungs     []Judgement
	Material  string   // empty: not said
	FeedMMMin *float64 // these are nil where not said
	StepMM    *float64
	ReachMM   *float64
	DetailMM  *float64
	// Ticked tells that sharp rungs were ticked and the others left blank, so
	// that blank means not sharp.
	Ticked bool
}

// answers are the ways to say whether a rung is sharp. tick is for a sharp rung
// on a sheet where the others stay blank.
var answers = map[string]bool{"y": true, "yes": true, "1": true, "true": true, "sharp": true, tick: true,
	"n": false, "no": false, "0": false, "false": false, "-": false}

const tick = "x"

// ReadVerdicts reads the filled sheet of a ladder: settings as comments
// "# key: value", a header that names offset_mm, sharp and perhaps power_pct,
// and a row to each rung. Sharp is y or n (yes, no, 1, 0, true, false), blank
// where it was not judged, or x with the others blank. name stands for the
// file in errors. What cannot be read as such is a *diag.Error.
func ReadVerdicts(r io.Reader, name string) (*Verdicts, error) {
	t, v := newTable(r, name), &Verdicts{}
	t.Setting = func(key string) error { return v.setting(key, &t.Row) }
	if err := t.First("no rungs in this file; it wants the header rung,offset_mm,power_pct,sharp and a row to each rung"); err != nil {
		return nil, err
	}
	at, err := verdictColumns(&t.Row)
	if err != nil {
		return nil, err
	}
	if err := t.Need("no rungs follow this header"); err != nil {
		return nil, err
	}
	ticked, refused := false, false
	err = t.Rest(func() error {
		rung, err := judgement(&t.Row, at)
		ticked = ticked || strings.EqualFold(string(t.Text(at["sharp"])), tick)
		refused = refused || rung.Judged && !rung.Sharp
		v.Rungs = append(v.Rungs, rung)
		return err
	})
	if err != nil {
		return nil, err
	}
	v.Ticked = ticked && !refused
	for i := range v.Rungs {
		v.Rungs[i].Judged = v.Rungs[i].Judged || v.Ticked
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

// verdictColumns finds the columns by their names; others may stand beside them.
func verdictColumns(row *table.Row) (map[string]int, error) {
	at := map[string]int{"offset_mm": missing, "sharp": missing, "power_pct": missing}
	for k := range row.Len() {
		name := strings.ToLower(string(row.Text(k)))
		was, wanted := at[name]
		if wanted && was != missing {
			return nil, row.Fail(k, "column %s stands here twice", name)
		}
		if wanted {
			at[name] = k
		}
	}
	for _, name := range []string{"offset_mm", "sharp"} {
		if at[name] == missing {
			return nil, row.Fail(-1, "no column %s in the header: it wants rung,offset_mm,power_pct,sharp", name)
		}
	}
	return at, nil
}

// missing is a column behind those of any row, where all is blank.
const missing = math.MaxInt

// judgement reads a row whose columns are at these places.
func judgement(row *table.Row, at map[string]int) (j Judgement, err error) {
	offset, power, sharp := at["offset_mm"], at["power_pct"], at["sharp"]
	if j.OffsetMM, err = row.Number(offset, "offset_mm"); err != nil {
		return j, err
	}
	if math.Abs(j.OffsetMM) > maxLengthMM {
		return j, row.Fail(offset, "offset_mm %s is beyond any bench", table.Quote(row.Text(offset)))
	}
	if len(row.Text(power)) > 0 {
		if j.PowerPct, err = row.Number(power, "power_pct"); err != nil {
			return j, err
		}
		if !(j.PowerPct > 0 && j.PowerPct <= 100) {
			return j, row.Fail(power, "power_pct %s is not above 0 and at most 100", table.Quote(row.Text(power)))
		}
	}
	if said := row.Text(sharp); len(said) > 0 {
		if j.Sharp, j.Judged = answers[strings.ToLower(string(said))]; !j.Judged {
			return j, row.Fail(sharp, "sharp %s is neither y nor n; leave it blank where it was not judged", table.Quote(said))
		}
	}
	return j, nil
}
