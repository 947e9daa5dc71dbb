package file

import (
	"io"
	"reflect"
	"strings"

	"sagitta/internal/option"
	"sagitta/internal/record"
)

// about is the first line of a job file.
const about = "Job file, for sagitta run. Names lead from the folder that it stands in, and none out of it."

// examples are values of options as a job file has them, where nothing else tells one.
var examples = map[string]string{
	"use": "0.5", "defocus": "0.8", "rotate": "1.5", "method": `"bicubic"`, "surface-error": "0.05", "slowest": "0.5",
	"z-rate": "600", "rapid": "6000", "start-z": "5", "keep-out": `"clamps.csv"`, "fixture": `"jig.toml"`, "readings": `"blank.log"`, "loaded": `"2026-11-05T14:30"`, "freed-height": "3",
	"detail": "0.5", "text": "6", "lead": "1", "overlap": "0.2", "burns": `"burns.toml"`, "columns": `"-xyz"`, "units": `"in"`, "wraps": "314.159",
}

// Write writes a job file with a comment to every field that it may have, options too;
// what is not given stands as a comment, with an example. Read reads it back.
func (j *Job) Write(w io.Writer, options []Option) error {
	fields := option.Named("toml", j)
	for i := range fields {
		f := &fields[i]
		if s, is := f.Value.Interface().(Sides); is {
			f.Value = reflect.ValueOf(string(s))
		}
	}
	for _, o := range options {
		x := option.Option{Name: o.Name, Meaning: o.meaning(), Value: reflect.ValueOf(""), Tag: reflect.StructTag(`as:"` + strings.ReplaceAll(o.example(), `"`, `\"`) + `"`)}
		fields = append(fields, x)
	}
	return record.WriteFields(w, about, fields)
}

// meaning is what an option means in a job file.
func (o *Option) meaning() string {
	text := strings.ReplaceAll(o.Meaning, "<X,Y>", "[X, Y]")
	for {
		before, rest, more := strings.Cut(text, "<")
		word, after, ends := strings.Cut(rest, ">")
		if !more || !ends {
			break
		}
		text = before + strings.ToLower(word) + after
	}
	switch {
	case o.Measured:
		text = "with measured: " + text
	case o.For != nil:
		text = strings.Join(o.For, ", ") + ": " + text
	}
	return text
}

// example is a value of an option as a job file has it.
func (o *Option) example() string {
	if text := examples[o.Name]; text != "" {
		return text
	}
	switch word, _, _ := strings.Cut(o.In, "|"); {
	case o.Value.Kind() == reflect.Bool:
		return "true"
	case o.Value.Kind() == reflect.Pointer:
		return "[10, 20]"
	case o.Value.Kind() == reflect.Float64:
		return "0"
	default:
		return `"` + word + `"`
	}
}
