package option

import (
	"math"
	"testing"
)

type placed struct {
	At *[2]float64 `opt:"at,a" is:"where, <X,Y>"`
}

type some struct {
	Part float64 `opt:"part" in:"(0,1]" wants:"a part, above 0 up to 1" is:"<PART> of it"`
	placed
	Least float64 `opt:"least" in:"[0,)" wants:"mm, 0 or more"`
	Any   float64 `opt:"any" in:"(,)" wants:"a finite number"`
	How   string  `opt:"how" in:"never|scaled|burns"`
	Free  float64 `opt:"free"`
	other int
}

func TestOf(t *testing.T) {
	var s some
	list := Of(&s)
	if len(list) != 6 || list[1].Name != "at" || list[1].Letter != "a" || list[1].Meaning != "where, <X,Y>" {
		t.Fatalf("%+v", list)
	}
	*list[0].Value.Addr().Interface().(*float64) = 3
	*list[1].Value.Addr().Interface().(**[2]float64) = &[2]float64{1, 2}
	if s.Part != 3 || s.At == nil || s.other != 0 {
		t.Errorf("%+v", s)
	}
}

func TestCheck(t *testing.T) {
	for _, c := range []struct {
		of   some
		want string
	}{
		{some{}, ""},
		{some{Part: 1, How: "burns", Any: -1, Free: math.NaN()}, ""},
		{some{Part: 1.5}, "--part 1.5: wants a part, above 0 up to 1"},
		{some{Part: -1}, "--part -1: wants a part, above 0 up to 1"},
		{some{Part: LeastNumber}, ""},
		{some{Part: 1e-300}, "--part 1e-300: wants a part, above 0 up to 1"},
		{some{Part: math.NaN()}, "--part NaN: wants a part, above 0 up to 1"},
		{some{Least: math.Inf(1)}, "--least +Inf: wants mm, 0 or more"},
		{some{Least: -0.1}, "--least -0.1: wants mm, 0 or more"},
		{some{Any: math.Inf(-1)}, "--any -Inf: wants a finite number"},
		{some{How: "fast"}, "--how fast: wants never, scaled or burns"},
	} {
		text := ""
		if err := Check(&c.of, func(string) bool { return false }); err != nil {
			text = err.Error()
		}
		if text != c.want {
			t.Errorf("%+v: %q, want %q", c.of, text, c.want)
		}
	}
	// Zero counts where it was given: outside of an interval, inside of another.
	for name, want := range map[string]bool{"part": false, "least": true, "any": true} {
		if err := Check(&some{}, func(n string) bool { return n == name }); (err == nil) != want {
			t.Errorf("--%s 0: %v", name, err)
		}
	}
}
