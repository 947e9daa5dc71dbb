package focus

import (
	"math"
	"strings"
	"testing"
)

func TestParseDepth(t *testing.T) {
	for _, c := range []struct {
		in        string
		near, far float64
	}{
		{"1.5", 1.5, 1.5}, {"-1.2,1.8", 1.2, 1.8}, {" -1.2 , +1.8 ", 1.2, 1.8},
		{"+.5", 0.5, 0.5}, {"2.", 2, 2}, {"-0.001,3", 0.001, 3},
	} {
		d, err := ParseDepth(c.in)
		if err != nil || d != (Depth{c.near, c.far}) {
			t.Errorf("%q: %v, %v", c.in, d, err)
		}
	}
}

func TestParseDepthRefuses(t *testing.T) {
	for in, why := range map[string]string{
		"": "not a number", "0": "not above zero", "1001": "more than 1000 mm", "-1,2000": "more than 1000 mm", "-1.5": "not above zero", "-0": "not above zero",
		"1.8,-1.2": "wrong way round", "1,5": "first number is not below", "0,1": "first number is not below",
		"-1,0": "second number is not above", "-1,-2": "second number is not above", "-1,": "not a number",
		",1": "not a number", "-1,1,1": "not a number", "nan": "not a number", "-1,NaN": "not a number",
		"inf": "not a number", "-inf,inf": "not a number", "0x1p-2": "not a number", "1e3": "not a number",
		"1_0": "not a number", "deep": "not a number", "1 2": "not a number", "1.2.3": "not a number",
		"--1": "not a number", "1.5mm": "not a number", "٣": "not a number", ".": "not a number",
		strings.Repeat("9", 400): "not a number", "0." + strings.Repeat("0", 400) + "1": "not above zero",
	} {
		_, err := ParseDepth(in)
		if err == nil {
			t.Errorf("%q was taken", in)
			continue
		}
		if msg := err.Error(); !strings.Contains(msg, why) || !strings.Contains(msg, "as in 1.5") {
			t.Errorf("%q: %s", in, msg)
		}
	}
}

func FuzzParseDepth(f *testing.F) {
	for _, s := range []string{"1.5", "-1.2,1.8", "1,5", "nan", "0x1p4", "-1e-3,2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDepth(s)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("%q: more than one line: %q", s, err)
			}
			return
		}
		if d.Check() != nil {
			t.Fatalf("%q gives %v", s, d)
		}
		if again, err := ParseDepth(d.String()); err != nil || again != d {
			t.Fatalf("%q: %v is written %q and read back as %v, %v", s, d, d.String(), again, err)
		}
	})
}

func TestCheckRefusesWhatIsNoDepth(t *testing.T) {
	for _, d := range []Depth{{0, 1}, {1, 0}, {-1, 1}, {math.NaN(), 1}, {1, math.NaN()}, {math.Inf(1), 1}, {1, math.Inf(1)}} {
		if d.Check() == nil {
			t.Errorf("%v passes", d)
		}
	}
}
