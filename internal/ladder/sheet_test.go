package ladder

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Source: common practice (no source) for the two lenses of 1.5 and 2.5 in.
func TestForFocal(t *testing.T) {
	for focal, want := range map[float64][2]float64{38.1: {0.5, 2.5}, 63.5: {1, 5}, 50.8: {0.75, 3.75}, 101.6: {2.5, 12.5}, 25.4: {0.2, 1}} {
		step, reach, err := ForFocal(focal)
		if err != nil || step != want[0] || reach != want[1] {
			t.Errorf("%g mm: step %g, reach %g, %v; want %v", focal, step, reach, err, want)
		}
	}
	for _, focal := range []float64{math.NaN(), math.Inf(1), 0, -38.1, 1.5, 38100} {
		if _, _, err := ForFocal(focal); err == nil {
			t.Errorf("%g mm is taken", focal)
		}
	}
	last := 0.0
	for f := shortestFocalMM * 1.0; f <= longestFocalMM; f *= 1.01 {
		step, reach, err := ForFocal(f)
		if err != nil || step < last || reach < step || reach > longestReachMM {
			t.Errorf("%g mm: step %g after %g, reach %g, %v", f, step, last, reach, err)
		}
		last = step
	}
}

func TestVerdictsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := New(drawOptions(t))
		if err != nil {
			return
		}
		list := p.Verdicts()
		if Filled(list) {
			t.Error("a blank list counts as filled")
		}
		keys := map[string]string{}
		for line := range strings.Lines(string(list)) {
			if key, value, ok := strings.Cut(strings.TrimPrefix(line, "# "), ":"); ok && strings.HasPrefix(line, "#") {
				keys[key] = strings.TrimSpace(value)
			}
		}
		for key, want := range map[string]float64{"feed_mm_min": p.opt.FeedMMMin, "step_mm": p.StepMM, "reach_mm": p.ReachMM, "detail_mm": DetailMM} {
			if v, err := strconv.ParseFloat(keys[key], 64); err != nil || !near(v, want, 1e-6) {
				t.Errorf("%s is %q, want %g", key, keys[key], want)
			}
		}
		if v, ok := keys["material"]; !ok || v != "" || len(keys) != 5 {
			t.Errorf("settings are %v", keys)
		}
		r := csv.NewReader(bytes.NewReader(list))
		r.Comment = '#'
		rows, err := r.ReadAll()
		if err != nil || len(rows) != len(p.Rungs)+1 || strings.Join(rows[0], ",") != VerdictHeader {
			t.Fatalf("%v, %d rows: %v", err, len(rows), rows[0])
		}
		for i, row := range rows[1:] {
			r := p.Rungs[i]
			no, _ := strconv.Atoi(row[0])
			off, err1 := strconv.ParseFloat(row[1], 64)
			pct, err2 := strconv.ParseFloat(row[2], 64)
			if no != r.No || err1 != nil || err2 != nil || !near(off, r.OffsetMM, 1e-6) || pct != r.PowerPct || row[3] != "" {
				t.Errorf("%v for %+v", row, r)
			}
		}
		// One verdict, or the stock, and it is not to be lost.
		for _, change := range [][2]string{{"30,\n", "30,yes\n"}, {"# material:\n", "# material: oak\n"}} {
			text := string(list)
			if filled := strings.Replace(text, change[0], change[1], 1); filled != text && !Filled([]byte(filled)) {
				t.Errorf("filled in with %q, it counts as blank", change[1])
			}
		}
	})
}

func TestFilled(t *testing.T) {
	for text, want := range map[string]bool{
		"":                                 false,
		"rung,offset_mm,power_pct,sharp\n": false,
		"rung;offset_mm;power_pct;sharp\r\n1;2,5;30;\r\n":      false,
		"rung;offset_mm;power_pct;sharp\r\n1;2,5;30;no\r\n":    true,
		"\ufeff# material:,,,\nrung,offset_mm,power_pct,sharp": false,
		"# material: oak\n":    true,
		"a letter to nobody\n": true,
	} {
		if got := Filled([]byte(text)); got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// shape is what the sheet draws, read back from its text.
type shape struct {
	texts         []string
	width, height float64
	lowest        float64 // of texts and boxes
	rightmost     float64
}

func readSheet(t failer, sheet []byte) shape {
	t.Helper()
	var s shape
	d := xml.NewDecoder(bytes.NewReader(sheet))
	number := func(e xml.StartElement, name string) float64 {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				v, err := strconv.ParseFloat(strings.TrimSuffix(a.Value, "mm"), 64)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				return v
			}
		}
		return 0
	}
	inText := false
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return s
		}
		if err != nil {
			t.Fatalf("the sheet is no SVG: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "svg":
				s.width, s.height = number(e, "width"), number(e, "height")
			case "text":
				inText = true
				s.lowest = math.Max(s.lowest, number(e, "y"))
			case "rect":
				if w := number(e, "width"); w < s.width {
					s.lowest = math.Max(s.lowest, number(e, "y")+number(e, "height"))
					s.rightmost = math.Max(s.rightmost, number(e, "x")+w)
				}
			}
		case xml.EndElement:
			inText = false
		case xml.CharData:
			if inText {
				s.texts = append(s.texts, string(e))
			}
		}
	}
}

func TestSheetHoldsEveryRung(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOptions(t)
		o.LensName = rapid.SampledFrom([]string{"", "short", `"<&>'é`}).Draw(t, "lens")
		p, err := New(o)
		if err != nil {
			return
		}
		s := readSheet(t, p.Sheet())
		count := map[string]int{}
		for _, text := range s.texts {
			count[text]++
		}
		all := strings.Join(s.texts, " ")
		for _, r := range p.Rungs {
			if count[p.offsetText(r.OffsetMM)] < len(o.PowersPct) {
				t.Errorf("no box for %s", p.offsetText(r.OffsetMM))
			}
			if !strings.Contains(all, num(r.PowerPct)) {
				t.Errorf("power %g is not on it", r.PowerPct)
			}
		}
		for _, word := range []string{"eye protection", "fumes", "extinguisher", "unattended", o.LensName} {
			if !strings.Contains(all, word) {
				t.Errorf("%q is not on it", word)
			}
		}
		if s.width != sheetWidth || s.height < sheetHeight || s.lowest > s.height || s.rightmost > s.width-sheetMargin+0.01 {
			t.Errorf("%+v", s)
		}
	})
}
