// Package option reads what the tags of a struct say of its fields that are
// options: what they are called and mean, and what they want. So each is
// described once, for the command line, for what checks it and for what else may
// set it.
//
//	Use float64 `opt:"use" in:"(0,1]" wants:"a part of the depth" is:"<PART> of the depth to spend"`
//
// opt is the name, and its letter behind a comma; is what it means, with what
// stands for the value in angle brackets; in the interval of a number, open
// where an end is left out, or the words that there are, with | between; wants
// says an interval in words.
package option

import (
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/diag"
)

// Option is a field that is an option.
type Option struct {
	Name, Letter string
	// Meaning is what it means, "" where it is said elsewhere.
	Meaning string
	// At points to the field.
	At any

	value     reflect.Value
	in, wants string
}

// Of gives the options among the fields of the struct that at points to, those
// of structs in it in their place.
func Of(at any) []Option { return of(reflect.ValueOf(at).Elem()) }

func of(s reflect.Value) (list []Option) {
	for i := range s.NumField() {
		f, v := s.Type().Field(i), s.Field(i)
		name, letter, _ := strings.Cut(f.Tag.Get("opt"), ",")
		switch {
		case f.Anonymous && v.Kind() == reflect.Struct:
			list = append(list, of(v)...)
		case name != "":
			list = append(list, Option{Name: name, Letter: letter, Meaning: f.Tag.Get("is"), At: v.Addr().Interface(),
				value: v, in: f.Tag.Get("in"), wants: f.Tag.Get("wants")})
		}
	}
	return list
}

// Check holds the options of the struct that at points to to what they want.
// Those that are zero count where they were given.
func Check(at any, given func(name string) bool) error {
	for _, o := range Of(at) {
		if o.in == "" || o.value.IsZero() && !given(o.Name) {
			continue
		}
		ok, wants := false, o.wants
		switch o.value.Kind() {
		case reflect.Float64:
			ok = within(o.value.Float(), o.in)
		case reflect.String:
			words := strings.Split(o.in, "|")
			ok = slices.Contains(words, o.value.String())
			last := len(words) - 1
			wants = strings.Join(words[:last], ", ") + " or " + words[last]
		}
		if !ok {
			return diag.Errorf(diag.Setting, "", "--%s %v: wants %s", o.Name, o.value.Interface(), wants)
		}
	}
	return nil
}

// within reports whether v is in an interval such as "(0,1]" or "[0,)", and
// finite.
func within(v float64, interval string) bool {
	end := len(interval) - 1
	low, high, _ := strings.Cut(interval[1:end], ",")
	if a, err := strconv.ParseFloat(low, 64); err == nil && (v < a || v == a && interval[0] == '(') {
		return false
	}
	if b, err := strconv.ParseFloat(high, 64); err == nil && (v > b || v == b && interval[end] == ')') {
		return false
	}
	return !math.IsNaN(v) && !math.IsInf(v, 0)
}
