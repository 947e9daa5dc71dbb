package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

const head = "rung,offset_mm,power_pct,sharp\n"

// sheet makes rows of offset, power and verdict, as in "-1:30:y".
func sheet(rungs ...string) string {
	var b strings.Builder
	b.WriteString(head)
	for i, r := range rungs {
		f := strings.Split(r, ":")
		fmt.Fprintf(&b, "%d,%s,%s,%s\n", i+1, f[0], f[1], f[2])
	}
	return b.String()
}

func TestReadVerdicts(t *testing.T) {
	v, err := ReadVerdicts(strings.NewReader("# a ladder\n# material: birch, 3 mm\n# feed_mm_min: 1500\n# step_mm: 0.5\n# reach_mm: 1\n# detail_mm: 0.48\n"+
		"rung;offset_mm;power_pct;sharp;remark\n1;1;30;N;\n2;0,5;30;Yes;fine\n3;0;30;1;\n4;-0,5;30;TRUE;\n5;-1;30;;\n6;0;;x;\n"), "v.csv")
	if err != nil {
		t.Fatal(err)
	}
	if v.Material != "birch, 3 mm" || *v.FeedMMMin != 1500 || *v.StepMM != 0.5 || *v.ReachMM != 1 || *v.DetailMM != 0.48 || len(v.Rungs) != 6 || v.Ticked {
		t.Fatalf("%+v", v)
	}
	for i, want := range []Judgement{{OffsetMM: 1, Judged: true}, {OffsetMM: 0.5, Judged: true, Sharp: true}, {Judged: true, Sharp: true},
		{OffsetMM: -0.5, Judged: true, Sharp: true}, {OffsetMM: -1}, {Judged: true, Sharp: true}} {
		got := v.Rungs[i]
		if power := []float64{30, 30, 30, 30, 30, 0}[i]; got.PowerPct != power {
			t.Errorf("power of rung %d: %v", i+1, got.PowerPct)
		}
		got.PowerPct = 0
		if got != want {
			t.Errorf("rung %d: %+v, want %+v", i+1, got, want)
		}
	}
}

func TestReadVerdictsRefuses(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "v.csv:1:1: no rungs in this file"},
		{head, "v.csv:1:1: no rungs follow"},
		{"1,0,30,y\n", "no column offset_mm"},
		{"rung,offset_mm,power_pct\n1,0,30\n", "no column sharp"},
		{"offset_mm,sharp,sharp\n0,y,y\n", "v.csv:1:17: column sharp stands here twice"},
		{head + "1,0,30,maybe\n", `v.csv:2:8: sharp "maybe" is neither y nor n`},
		{head + "1,abc,30,y\n", `v.csv:2:3: offset_mm "abc" is not a number`},
		{head + "1,,30,y\n", "v.csv:2:3: offset_mm is missing"},
		{head + "1,0,130,y\n", "v.csv:2:5: power_pct"},
		{head + "1,0,0,y\n", "v.csv:2:5: power_pct"},
		{"# step_mm: wide\n" + head + "1,0,30,y\n", `v.csv:1:12: step_mm "wide" is not a number`},
		{"# feed_mm_min: -5\n" + head + "1,0,30,y\n", "v.csv:1:16: feed_mm_min"},
	} {
		_, err := ReadVerdicts(strings.NewReader(c.text), "v.csv")
		if !diag.Is(err, diag.Malformed) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
}

func TestSharp(t *testing.T) {
	for _, c := range []struct {
		name             string
		rungs            []string
		lo, hi, errorMM  float64
		openLo, openHi   bool
		power            float64
		notes, wantsNone string
	}{
		{name: "even", rungs: []string{"2:30:n", "1:30:y", "0:30:y", "-1:30:y", "-2:30:n", "0:30:y"}, lo: -1, hi: 1, errorMM: 0.5, power: 30},
		{name: "uneven", rungs: []string{"3:30:n", "2:30:y", "1:30:y", "0:30:y", "-1:30:n", "-2:30:n"}, lo: 0, hi: 2, errorMM: 0.5, power: 30},
		{name: "uneven steps", rungs: []string{"3:30:n", "1:30:y", "0:30:y", "-1:30:n"}, lo: 0, hi: 1, errorMM: 1, power: 30},
		{name: "to the end", rungs: []string{"1:30:y", "0:30:y", "-1:30:y", "-2:30:n"}, lo: -1, hi: 1, errorMM: 0.5, openHi: true, power: 30},
		{name: "all", rungs: []string{"1:30:y", "0:30:y", "-1:30:y"}, lo: -1, hi: 1, errorMM: 0.5, openLo: true, openHi: true, power: 30},
		{name: "ends not judged", rungs: []string{"2:30:", "1:30:y", "0:30:y", "-1:30:y", "-2:30:n"}, lo: -1, hi: 1, errorMM: 0.5, openHi: true, power: 30},
		{name: "gap", rungs: []string{"3:30:y", "2:30:n", "1:30:y", "0:30:y", "-1:30:n"}, lo: 0, hi: 1, errorMM: 0.5, power: 30,
			notes: "a gap: the rung at +3 mm is sharp, but the one at +2 mm between it and best focus is not sharp"},
		{name: "gap not judged", rungs: []string{"2:30:y", "1:30:", "0:30:y", "-1:30:y", "-2:30:n"}, lo: -1, hi: 0, errorMM: 0.5, openHi: true, power: 30,
			notes: "the one at +1 mm between it and best focus is not judged"},
		{name: "shifted", rungs: []string{"4:30:n", "3:30:y", "2:30:y", "1:30:n", "0:30:n"}, lo: 2, hi: 3, errorMM: 0.5, power: 30},
		{name: "drift", rungs: []string{"1:30:y", "0:30:y", "-1:30:y", "0:30:n"}, lo: -1, hi: 1, errorMM: 0.5, openLo: true, openHi: true, power: 30,
			notes: "drift: the rung at 0 mm and 30 % power was sharp first and not sharp when it was marked again"},
		{name: "drift the other way", rungs: []string{"2:30:y", "1:30:y", "0:30:n", "-1:30:n", "0:30:y"}, lo: 1, hi: 2, errorMM: 0.5, openHi: true, power: 30,
			notes: "drift: the rung at 0 mm and 30 % power was not sharp first and sharp when"},
		{name: "repeated not judged first", rungs: []string{"1:30:y", "0:30:", "-1:30:y", "0:30:y"}, lo: -1, hi: 1, errorMM: 0.5, openLo: true, openHi: true, power: 30},
		{name: "powers", rungs: []string{"1:30:n", "1:40:y", "0:30:y", "0:40:y", "-1:30:n", "-1:40:y", "-2:30:n", "-2:40:n", "2:30:n", "2:40:n"}, lo: -1, hi: 1, errorMM: 0.5, power: 40,
			notes: "a depth belongs to one power: 30 %: no depth, 40 %: -1 to +1 mm; the record is of 40 %, which is sharp furthest"},
		{name: "powers in part", rungs: []string{"1:50:y", "1:30:n", "0:50:n", "0:30:y", "-1:50:n", "-1:30:y"}, lo: -1, hi: 0, errorMM: 0.5, openLo: true, power: 30,
			notes: "30 %: -1 to 0 mm, 50 %: no depth"},
		{name: "powers on either side", rungs: []string{"2:50:y", "2:30:n", "1:50:y", "1:30:n", "0:50:y", "0:30:y", "-1:50:n", "-1:30:y", "-2:50:n", "-2:30:y", "-3:50:n", "-3:30:y", "-4:30:n"}, lo: -3, hi: 0, errorMM: 0.5, power: 30,
			notes: "30 %: -3 to 0 mm, 50 %: 0 to +2 mm; the record is of 30 %"},
		{name: "powers alike", rungs: []string{"1:40:y", "1:30:y", "0:40:y", "0:30:y", "-1:40:n", "-1:30:n"}, lo: 0, hi: 1, errorMM: 0.5, openHi: true, power: 30,
			notes: "30 %: 0 to +1 mm, 40 %: 0 to +1 mm; the record is of 30 %"},
		{name: "no power sharp", rungs: []string{"1:40:n", "1:30:n", "0:40:n", "0:30:y", "-1:40:n", "-1:30:n"}, wantsNone: "and that with each of 30, 40 % power"},
		{name: "two runs alike", rungs: []string{"3:30:y", "2:30:y", "1:30:n", "0:30:n", "-1:30:n", "-2:30:n", "-3:30:y", "-4:30:y"}, lo: 2, hi: 3, errorMM: 0.5, openHi: true, power: 30,
			notes: "a gap: the rung at -4 mm is sharp"},
		{name: "two runs alike, the first nearer", rungs: []string{"4:30:y", "3:30:y", "1:30:n", "0:30:n", "-1:30:n", "-2:30:y", "-3:30:y"}, lo: -3, hi: -2, errorMM: 0.5, openLo: true, power: 30,
			notes: "a gap: the rung at +4 mm is sharp"},
		{name: "ticks", rungs: []string{"2:30:", "1:30:x", "0:30:X", "-1:30:x", "-2:30:"}, lo: -1, hi: 1, errorMM: 0.5, power: 30, notes: "blank is taken for not sharp"},
		{name: "blank", rungs: []string{"1:30:", "0:30:", "-1:30:"}, wantsNone: "no rung has a verdict yet"},
		{name: "none", rungs: []string{"1:30:n", "0:30:n", "-1:30:n"}, wantsNone: "no rung is sharp"},
		{name: "one", rungs: []string{"1:30:n", "0:30:y", "-1:30:n", "0:30:y"}, wantsNone: "only one rung is sharp, at 0 mm: the depth is less than a step of the ladder, 1 mm"},
		{name: "one and a gap", rungs: []string{"2:30:y", "1:30:n", "0:30:y", "-1:30:n"}, wantsNone: "a gap: the rung at +2 mm"},
	} {
		v, err := ReadVerdicts(strings.NewReader(sheet(c.rungs...)), "v.csv")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		s, err := v.Sharp(0)
		if c.wantsNone != "" {
			if !diag.Is(err, diag.Unmet) || !strings.Contains(err.Error(), c.wantsNone) {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if s.LoMM != c.lo || s.HiMM != c.hi || s.ErrorMM != c.errorMM || s.OpenLo != c.openLo || s.OpenHi != c.openHi || s.PowerPct != c.power {
			t.Errorf("%s: %+v power %g", c.name, s, s.PowerPct)
		}
		if notes := strings.Join(s.Notes, "\n"); c.notes == "" && notes != "" || !strings.Contains(notes, c.notes) {
			t.Errorf("%s: %v", c.name, s.Notes)
		}
	}
}

// Whatever the verdicts, the range holds sharp rungs alone, and none beyond
// its ends that could be joined to it.
func TestSharpInventsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		said := rapid.SliceOfN(rapid.SampledFrom([]string{"y", "n", ""}), 1, 14).Draw(t, "said")
		first := rapid.IntRange(-8, 3).Draw(t, "first")
		var rungs []string
		sharp := map[float64]bool{}
		for i, s := range said {
			at := float64(first + i)
			sharp[at] = s == "y"
			rungs = append(rungs, fmt.Sprintf("%g:20:%s", at, s))
		}
		rungs = rapid.Permutation(rungs).Draw(t, "order")
		v, err := ReadVerdicts(strings.NewReader(sheet(rungs...)), "v.csv")
		if err != nil {
			t.Fatal(err)
		}
		s, err := v.Sharp(0)
		if err != nil {
			for i := 1; i < len(said); i++ {
				if at := float64(first + i); sharp[at] && sharp[at-1] && !(sharp[0] && !sharp[-1] && !sharp[1]) {
					t.Fatalf("%v: %v", said, err)
				}
			}
			return
		}
		for at := s.LoMM; at <= s.HiMM; at++ {
			if !sharp[at] {
				t.Fatalf("%v from %d: %g to %g has the unsharp %g in it", said, first, s.LoMM, s.HiMM, at)
			}
		}
		if sharp[s.LoMM-1] || sharp[s.HiMM+1] || s.LoMM == s.HiMM || sharp[0] && (s.LoMM > 0 || s.HiMM < 0) || s.ErrorMM != 0.5 {
			t.Fatalf("%v from %d: %g to %g", said, first, s.LoMM, s.HiMM)
		}
	})
}

// The depth is that of the rungs of one power, whichever is asked for, and the widest of
// them where none is.
func TestDepthIsOfOnePower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		powers := []float64{20, 35, 60}[:rapid.IntRange(2, 3).Draw(t, "powers")]
		var rungs []string
		of := map[float64][]string{}
		for _, p := range powers {
			for at := -4; at <= 4; at++ {
				r := fmt.Sprintf("%d:%g:%s", at, p, rapid.SampledFrom([]string{"y", "y", "n"}).Draw(t, "said"))
				rungs, of[p] = append(rungs, r), append(of[p], r)
			}
		}
		read := func(rungs []string) *Verdicts {
			v, err := ReadVerdicts(strings.NewReader(sheet(rungs...)), "v.csv")
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		v, widest := read(rapid.Permutation(rungs).Draw(t, "order")), 0.0
		for _, p := range powers {
			alone, err := read(of[p]).Sharp(0)
			s, same := v.Sharp(p)
			if (err == nil) != (same == nil) || err == nil && (s.LoMM != alone.LoMM || s.HiMM != alone.HiMM || s.PowerPct != p || s.OpenLo != alone.OpenLo) {
				t.Fatalf("%g %%: %+v, %v; alone %+v, %v", p, s, same, alone, err)
			}
			if err == nil {
				widest = max(widest, alone.HiMM-alone.LoMM)
			}
		}
		s, err := v.Sharp(0)
		if (err == nil) != (widest > 0) || err == nil && s.HiMM-s.LoMM != widest {
			t.Fatalf("%+v, %v: the widest is %g", s, err, widest)
		}
	})
	v, err := ReadVerdicts(strings.NewReader(sheet("0:30:y", "1:40:y")), "v.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := v.Sharp(50); !diag.Is(err, diag.Setting) || !strings.Contains(err.Error(), "there is 30, 40 %") {
		t.Error(err)
	}
}

func TestLimits(t *testing.T) {
	if s, err := Limits(-1, 2, 0.5); err != nil || s.ErrorMM != 0.25 || s.ShiftMM() != 0.5 || s.OpenLo {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := Limits(1, 1, 0); !diag.Is(err, diag.Unmet) {
		t.Errorf("one rung: %v", err)
	}
}

func FuzzReadVerdicts(f *testing.F) {
	f.Add(sheet("1:30:n", "0:30:y", "-1:30:y"))
	f.Add("# step_mm: 0,5\noffset_mm;sharp\n0,5;x\n")
	f.Fuzz(func(t *testing.T, text string) {
		v, err := ReadVerdicts(strings.NewReader(text), "v.csv")
		if err != nil {
			if se := diag.As(err); se == nil || se.Line < 1 || se.Col < 1 || se.Col > len(se.Source)+1 || strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
				t.Fatalf("%q: %q", text, err)
			}
			return
		}
		s, err := v.Sharp(0)
		if err == nil && (!(s.LoMM < s.HiMM) || math.IsNaN(s.ErrorMM) || s.ErrorMM < 0) {
			t.Fatalf("%q: %+v", text, s)
		}
	})
}
