package record

import (
	"bytes"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// What a record says comes back whole, every bit, by way of JSON.
func TestContentComesBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m, l := DefaultMachine(), &Lens{Name: rapid.StringMatching(`[a-z"\\\x{e9}#=][a-z "\\\x{e9}#=]{0,9}[a-z]`).Draw(rt, "name"), DepthMM: &[2]float64{-1.0 / 3, 2e-7}}
		length := rapid.Float64Range(0.001, 1000)
		for _, r := range []Record{m, l} {
			for _, f := range fieldsOf(r) {
				switch v := f.Value.Addr().Interface().(type) {
				case **float64:
					if x := length.Draw(rt, f.Name); f.Name == "z_max_mm" || f.Name == "z_min_mm" || f.Name == "standoff_mm" || f.Name == "gap_min_mm" {
						*v = &x
					}
				case *float64:
					*v = length.Draw(rt, f.Name)
				case *bool:
					*v = rapid.Bool().Draw(rt, f.Name)
				}
			}
		}
		if n := rapid.IntRange(0, 6).Draw(rt, "decimals"); n > 0 {
			m.Decimals = &n
		}
		*m.ZMaxMM += *m.ZMinMM
		m.Harmless = rapid.SampledFrom([]MWords{{}, {7, 106}}).Draw(rt, "harmless")
		m.ZAxis = rapid.SampledFrom([]string{"Z", "W"}).Draw(rt, "axis")
		back := func(r Record) *bytes.Reader {
			object, err := AsJSON(r)
			if err != nil {
				rt.Fatal(err)
			}
			text, err := FileOf(object)
			if err != nil {
				rt.Fatalf("%v\n%s", err, object)
			}
			return bytes.NewReader(text)
		}
		if err := m.Validate(); err != nil {
			rt.Skip(err)
		}
		if got, err := ReadMachine(back(m), "m"); err != nil || !reflect.DeepEqual(got, m) {
			rt.Fatalf("%v\n%+v\n%+v", err, got, m)
		}
		if got, err := ReadLens(back(l), "l"); err != nil || !reflect.DeepEqual(got, l) {
			rt.Fatalf("%v\n%+v\n%+v", err, got, l)
		}
	})
	for _, bad := range []string{"", "[]", "3", `{"a":`} {
		if _, err := FileOf([]byte(bad)); err == nil {
			t.Errorf("%q is taken", bad)
		}
	}
	if _, err := AsJSON(&Lens{FocusHeightMM: math.Inf(1)}); err == nil {
		t.Error("an infinite number is written")
	}
}
