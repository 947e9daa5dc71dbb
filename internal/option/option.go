// Package option reads what the tags of a struct say of its fields that can be set,
// by an option or in a file: what they are called and mean, and what they want. So
// each is described once, for the command line, for what checks it and for what else
// may set it.
//
//	Use float64 `opt:"use" in:"(0,1]" wants:"a part of the depth" is:"<PART> of the depth to spend"`
//
// opt is the name, and its letter behind a comma; also another name that it may be given
// by; is what it means, with what
// stands for the value in angle brackets; in the interval of a number, open
// where an end is left out, or the words that there are, with | between; wants
// says an interval in words; file what the names of such files mostly end in, with |
// between.
package option

import (
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"sagitta/internal/diag"
)

// Option is a field that can be set.
type Option struct {
	Name, Letter string
	// Meaning is what it means, "" where it is said elsewhere.
	Meaning string
	// Value is the field, which can be set.
	Value reflect.Value
	// In is the interval, or the words, and Tag has what else is said of it.
	In  string
	Tag reflect.StructTag
}

// Of gives the options among the fields of the struct that at points to, those
// of structs in it in their place.
func Of(at any) []Option { return Named("opt", at) }

// Named gives those of a struct whose fields have their names in the tag key.
func Named(key string, at any) []Option {
	s := reflect.ValueOf(at).Elem()
	of := struct {
		key  string
		kind reflect.Type
	}{key, s.Type()}
	fields, is := tagged.Load(of)
	if !is {
		fields, _ = tagged.LoadOrStore(of, named(key, of.kind))
	}
	list := make([]Option, len(fields.([]field)))
	for i, f := range fields.([]field) {
		list[i] = f.Option
		list[i].Value = s.FieldByIndex(f.at)
	}
	return list
}

// tagged are the fields of types that were asked for, which stay the same: many jobs ask for
// those of few.
var tagged sync.Map

// field is an option of a type, without a value, and at where it is in it.
type field struct {
	Option
	at []int
}

func named(key string, s reflect.Type) (list []field) {
	for i := range s.NumField() {
		f := s.Field(i)
		name, letter, _ := strings.Cut(f.Tag.Get(key), ",")
		switch {
		case f.Anonymous && f.Type.Kind() == reflect.Struct:
			for _, within := range named(key, f.Type) {
				list = append(list, field{within.Option, append([]int{i}, within.at...)})
			}
		case name != "":
			list = append(list, field{Option{Name: name, Letter: letter, Meaning: f.Tag.Get("is"), In: f.Tag.Get("in"), Tag: f.Tag}, f.Index})
		}
	}
	return list
}

// Check holds the options of the struct that at points to to what they want.
// Those that are zero count where they were given.
func Check(at any, given func(name string) bool) error {
	for _, o := range Of(at) {
		if o.Value.IsZero() && !given(o.Name) {
			continue
		}
		if wants, ok := o.Check(); !ok {
			return diag.Errorf(diag.Setting, "", "--%s %v: wants %s", o.Name, o.Value.Interface(), wants)
		}
	}
	return nil
}

// Check reports whether the field is what it is to be, and says what that is.
func (o *Option) Check() (wants string, ok bool) {
	if o.In == "" {
		return "", true
	}
	switch o.Value.Kind() {
	case reflect.Float64:
		return o.Tag.Get("wants"), Within(o.Value.Float(), o.In)
	case reflect.Int:
		return o.Tag.Get("wants"), Within(float64(o.Value.Int()), o.In)
	case reflect.String:
		words := strings.Split(o.In, "|")
		last := len(words) - 1
		return strings.Join(words[:last], ", ") + " or " + words[last], slices.Contains(words, o.Value.String())
	}
	return "", false
}

// LeastNumber is the least that what is above zero is taken to be, in whatever unit: what is
// worked out of less would be no number any more.
const LeastNumber = 1e-9

// Within reports whether v is finite, and in an interval such as "(0,1]" or "[0,)", above 0
// by LeastNumber; "" is any.
func Within(v float64, interval string) bool {
	low, high, _ := strings.Cut(strings.Trim(interval, "([])"), ",")
	if low == "0" && interval[0] == '(' && v < LeastNumber {
		return false
	}
	if a, err := strconv.ParseFloat(low, 64); err == nil && (v < a || v == a && interval[0] == '(') {
		return false
	}
	if b, err := strconv.ParseFloat(high, 64); err == nil && (v > b || v == b && interval[len(interval)-1] == ')') {
		return false
	}
	return !math.IsNaN(v) && !math.IsInf(v, 0)
}
