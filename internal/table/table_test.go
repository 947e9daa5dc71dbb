package table

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"sagitta/internal/diag"
)

// read gives the fields of each row joined by |, settings as "key=value".
func read(r *Reader) (rows []string, err error) {
	r.Setting = func(key string) error {
		rows = append(rows, key+"="+string(r.Text(0)))
		return nil
	}
	for {
		if err := r.Next(); err != nil {
			return rows, err
		}
		var fields []string
		for k := range r.Len() {
			fields = append(fields, string(r.Text(k)))
		}
		rows = append(rows, strings.Join(fields, "|"))
	}
}

func TestRows(t *testing.T) {
	for text, want := range map[string]string{
		"a,b\n1,2":                           "a|b / 1|2",
		"\xef\xbb\xbfa , b\r\n\r\n 1,2,\r\n": "a|b / 1|2|",
		",a\n,,\n,1 # said":                  "|a / |1",
		"a;b,c\n1,5;2":                       "a|b,c / 1,5|2",
		"1,5\t2\n3\t4,5":                     "1,5|2 / 3|4,5",
		"1,\t2\n3,4\t":                       "1|2 / 3|4",
		"\ta\n\n\t1":                         "|a / |1",
		"  1   2  \n3 \t4 5":                 "1|2 / 3|4|5",
		"1 2\n3,4 5":                         "1|2 / 3,4|5",
		`"a,b", "c" ,"say ""no"""` + "\n1":   `a,b|c|say ""no"" / 1`,
		"\"a\n1,\"b\"c,d":                    "\"a / 1,\"b\"c,d",
		"\"a,b\n\",\"":                       "\"a|b / ,",
		"# Units : in,,\n#x\n1":              "units=in / 1",
		"#a:\n1,2\n # b: c ; d \t":           "a= / 1|2 / b=c ; d",
		"#: 3\n1":                            "1",
		"a;30# b\n1;#c\n2 #;3\n\"#4\";5":     "a|30# b / 1| / 2 / #4|5",
	} {
		got, err := read(NewReader(iotest.OneByteReader(strings.NewReader(text)), "f"))
		if s := strings.Join(got, " / "); s != want || !errors.Is(err, io.EOF) {
			t.Errorf("%q: %q, %v, want %q", text, s, err, want)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text string
		want string // the numbers, or the error
	}{
		{"1,-2.5,+.5,1e-3,2E2", "[1 -2.5 0.5 0.001 200]"},
		{"\u22121.5,0.12345678901234567", "[-1.5 0.12345678901234566]"},
		{"1,5;2;,5", "[1.5 2 0.5]"},
		{"1.5;2,25", `f:1:5: v "2,25" is not a number; decimals take a point`},
		{"1,5\n2.25", "[1 5 2.25]"},
		{"1,5;7\n2.25;7", `f:2:1: v "2.25" is not a number; decimals take a comma, as before it`},
		{"a,\"1,5\"", `f:1:1: v "a" is not a number`},
		{"1,\"1,5\"", "[1 1.5]"},
		{"1,\"1,5\",2.5", `f:1:9: v "2.5" is not a number; decimals take a comma, as before it`},
		{"1.5,\"1,5\"", `f:1:6: v "1,5" is not a number; decimals take a point`},
		{"1,\"1,500.5\"", `f:1:4: v "1,500.5" is not a number`},
		{"1;1.000,5", `f:1:3: v "1.000,5" is not a number`},
		{"1,,2", "f:1:3: v is missing; a number is needed here"},
		{"1,30#", `f:1:3: v "30#" is not a number`},
		{"1,nan", `f:1:3: v "nan" is not a number`},
		{"1,0x1p4", `f:1:3: v "0x1p4" is not a number`},
		{"1,1_0", `f:1:3: v "1_0" is not a number`},
		{"1,1e999", `f:1:3: v "1e999" is not a number`},
		{"1,\xff\x1b", "f:1:4: not text (a control character); save it as plain UTF-8 CSV"},
		{"1,\xff", `f:1:3: v "\xff" is not a number`},
		{"1," + strings.Repeat("x", 50), `f:1:3: v "` + strings.Repeat("x", 40) + `"... is not a number`},
	} {
		r := NewReader(strings.NewReader(c.text), "f")
		var all []float64
		err := r.Next()
		for ; err == nil; err = r.Next() {
			for k := 0; k < r.Len() && err == nil; k++ {
				var v float64
				v, err = r.Number(k, "v")
				all = append(all, v)
			}
			if err != nil {
				break
			}
		}
		got := fmt.Sprint(all)
		if !errors.Is(err, io.EOF) {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}

// A setting has a decimal sign of its own.
func TestSettingNumbers(t *testing.T) {
	r := NewReader(strings.NewReader("# a: 0.5\n1,5;2\n# b: 0,25\n# c: 0.75\n2,5;1\n"), "f")
	var got []float64
	r.Setting = func(key string) error {
		v, err := r.Number(0, key)
		got = append(got, v)
		return err
	}
	err := r.Next()
	for ; err == nil; err = r.Next() {
		var v float64
		if v, err = r.Number(0, "v"); err != nil {
			break
		}
		got = append(got, v)
	}
	if s := fmt.Sprint(got); s != "[0.5 1.5 0.25 0.75 2.5]" || !errors.Is(err, io.EOF) {
		t.Errorf("%s, %v", s, err)
	}
	r = NewReader(strings.NewReader("1\n  # b:  no,\n"), "f")
	r.Setting = func(key string) error { _, err := r.Number(0, key); return err }
	if err := r.Next(); err != nil {
		t.Fatal(err)
	}
	if err := r.Next(); err == nil || err.Error() != `f:2:9: b "no" is not a number` || diag.As(err).Caret() != "  # b:  no,\n        ^" {
		t.Errorf("%v\n%s", err, diag.As(err).Caret())
	}
}

func TestPlaces(t *testing.T) {
	r := NewReader(strings.NewReader("# c\n a, \"b\"\n"), "f")
	if err := r.Next(); err != nil {
		t.Fatal(err)
	}
	kept := r.Clone()
	if err := r.Next(); !errors.Is(err, io.EOF) {
		t.Fatal(err)
	}
	for k, want := range map[int]string{-1: "f:2:1", 0: "f:2:2", 1: "f:2:6", 2: "f:2:8", 9: "f:2:8"} {
		if p := kept.Place(k); p.String() != want || p.Source != ` a, "b"` {
			t.Errorf("field %d: %v of %q, want %s", k, p, p.Source, want)
		}
	}
	if err := r.FailFile("no %s", "rows"); err.Error() != "f:2:1: no rows" || diag.As(err).Caret() != "" {
		t.Error(err)
	}
	if err := NewReader(strings.NewReader(""), "f").FailFile("empty"); err.Error() != "f:1:1: empty" {
		t.Error(err)
	}
}

func TestLimit(t *testing.T) {
	r := NewReader(strings.NewReader(strings.Repeat("1,2\n", 1<<19)), "f")
	r.Limit(1<<20, "a list")
	err := r.Next()
	for ; err == nil; err = r.Next() {
	}
	if err.Error() != "f:262144:1: longer than 1 MiB: not a list" {
		t.Error(err)
	}
}

// Whatever the text, fields are parts of it and errors have a place in it.
func FuzzReader(f *testing.F) {
	f.Add("a;\"b;c\";\n1,5;2\n# d: e\n")
	f.Add("\t1\t2 \"\n\"\"\t\"\n")
	f.Add(`",""",","` + "\n1 2 3")
	f.Fuzz(func(t *testing.T, text string) {
		r := NewReader(strings.NewReader(text), "f")
		for {
			err := r.Next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				if e := diag.As(err); e == nil || e.Line < 1 || e.Col < 1 || e.Col > len(e.Source)+1 {
					t.Fatalf("%q: %v", text, err)
				}
				return
			}
			for k := range r.Len() {
				if b := r.Text(k); !strings.Contains(text, string(b)) || strings.Trim(string(b), " \t") != string(b) {
					t.Fatalf("%q: field %q", text, b)
				}
				if _, err := r.Number(k, "v"); err != nil && strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
					t.Fatalf("%q: %q", text, err)
				}
			}
		}
	})
}

func TestRowsDoNotAllocate(t *testing.T) {
	r := NewReader(strings.NewReader(strings.Repeat("1.5,\"2\",-3e0\n", 2000)), "f")
	n := testing.AllocsPerRun(1000, func() {
		if err := r.Next(); err != nil {
			t.Fatal(err)
		}
		if _, err := r.Number(0, "v"); err != nil || r.Len() != 3 {
			t.Fatal(err)
		}
	})
	if n > 0 {
		t.Errorf("%g allocations a row", n)
	}
}
