package measured

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"sagitta/internal/diag"
)

func TestReadWidths(t *testing.T) {
	x := []float64{0.1, 0.2}
	y := []float64{0.3, 0.25}
	z := []float64{-5.5, 4}
	for name, text := range map[string]string{
		"plain":             "-5.5,100,300\n4,200,250\n",
		"comments":          "# a beam\n\n-5.5,100,300 \r\n4,200,250",
		"header":            "z_mm,dx_um,dy_um\n-5.5,100,300\n4,200,250\n",
		"header, any order": "dy_um;z_mm;dx_um\n300;-5,5;100\n250;4;200\n",
		"other units":       "z_um,dx_mm,dy_cm\n-5500,0.1,0.03\n4000,0.2,0.025\n",
		"brackets":          "z [mm],dx [µm],dy (um)\n-5.5,100,300\n4,200,250\n",
		"metres":            "z_m dx_um dy_um\n-0.0055 100 300\n0.004 200 250\n",
		"no units":          "Z,dx,dy\n-5.5,100,300\n4,200,250\n",
		"tabs and commas":   "-5,5\t100\t300\n4\t200\t250\n",
		"blanks":            "  -5.5   100 300\n4 2e2 250\n",
		"quotes":            "\"z_mm\",\"dx_um\",\"dy_um\"\n\"-5.5\",100,300\n4,200,250\n",
		"mark of order":     "\xef\xbb\xbfz,dx,dy\n-5.5,100,300\n4,200,250\n",
		"empty fields":      "z,dx,dy,\n-5.5,100,300,\n4,200,250,\n,,,\n",
		"minus as typeset":  "\u22125.5,100,300\n4,200,250\n",
	} {
		s, err := ReadWidths(strings.NewReader(text), "w.csv")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s.Y == nil || !alike(s.X.Z, z) || !alike(s.X.D, x) || !alike(s.Y.D, y) || !reflect.DeepEqual(s.X.Z, s.Y.Z) {
			t.Errorf("%s: %+v %+v", name, s.X, s.Y)
		}
	}
	s, err := ReadWidths(strings.NewReader("z,d\n0,100\n1,200\n"), "w.csv")
	if err != nil || s.Y != nil || !alike(s.X.D, []float64{0.1, 0.2}) {
		t.Errorf("one axis: %+v, %v", s, err)
	}
}

func alike(a, b []float64) bool {
	for i := range a {
		if len(a) != len(b) || math.Abs(a[i]-b[i]) > 1e-12 { // a unit's rounding
			return false
		}
	}
	return true
}

func TestReadWidthsRefuses(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "w.csv:1:1: no widths"},
		{"# only a comment\n", "w.csv:1:1: no widths"},
		{"z,d\n", "w.csv:1:1: no widths follow"},
		{"z_mm,d_um\n0,100\n1,abc\n", `w.csv:3:3: width "abc" is not a number`},
		{"0,100\n1,-5\n", `w.csv:2:3: width "-5" is not above zero`},
		{"0,100\n1,0\n", "w.csv:2:3: width"},
		{"0,100\n1,\n", "w.csv:2:3: width is missing"},
		{"0,100\n1\n", "w.csv:2:2: width is missing"},
		{"0,100,90\n1,100\n", "w.csv:2:6: width is missing"},
		{"0,100\n1,100,90\n", "w.csv:2:7: one field too many"},
		{"0,100\nnan,90\n", `w.csv:2:1: z "nan" is not a number`},
		{"0,100\n0x1,90\n", "w.csv:2:1: z"},
		{"0,100\ninf,90\n", "w.csv:2:1: z"},
		{"0,100\n1e999,90\n", "w.csv:2:1: z"},
		{"0,100\n1e7,90\n", "beyond any bench"},
		{"0,100\n1,1e10\n", "beyond any bench"},
		{"0;1,5\n1;1.000,5\n", "is not a number"},
		{"z,foo\n0,100\n", `w.csv:1:3: column "foo" is neither`},
		{"d,z,d\n0,100,2\n", "second of its kind"},
		{"z_mm,d_furlong\n0,100\n", `w.csv:1:6: the unit of "d_furlong"`},
		{"z_mm,dy_um\n0,100\n", "no column d or dx"},
		{"0,100\n1,\x00\n", "w.csv:2:3: not text"},
		{"0,100\n1,\xff\n", `width "\xff" is not a number`},
		{strings.Repeat("0,100\n", 200000), "longer than 1 MiB"},
	} {
		_, err := ReadWidths(strings.NewReader(c.text), "w.csv")
		if !diag.Is(err, diag.Malformed) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.30q: %v", c.text, err)
		}
	}
}

func FuzzReadWidths(f *testing.F) {
	for _, s := range []string{"z_mm,dx_um,dy_um\n0,1,2\n", "0;1,5\n", "# a: b\n0 1\n", "z\td\n", "\"z\",\"d\"\n,\n", strings.Repeat("\xd7", 2000) + "\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ReadWidths(strings.NewReader(text), "w.csv")
		if err != nil {
			if se := diag.As(err); se == nil || se.Line < 1 || se.Col < 1 || se.Col > len(se.Source)+1 || strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
				t.Fatalf("%q: %q", text, err)
			}
			return
		}
		for i, d := range s.X.D {
			if z := s.X.Z[i]; !(d > 0) || math.IsNaN(z) || math.Abs(z) > maxLengthMM {
				t.Fatalf("%q: z %g, width %g", text, z, d)
			}
		}
		if len(s.X.D) != len(s.X.Z) || len(s.X.D) == 0 || s.Y != nil && len(s.Y.D) != len(s.X.D) {
			t.Fatalf("%q: %+v", text, s)
		}
	})
}
