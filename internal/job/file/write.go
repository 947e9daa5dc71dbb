package file

import (
	"io"
	"reflect"
	"slices"
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
	err := record.WriteFields(w, about, fields)
	if err == nil && slices.ContainsFunc(options, func(o Option) bool { return o.Name == burnsField }) {
		_, err = io.WriteString(w, burnsExample)
	}
	return err
}

// burnsExample shows how rules about burns are written into a job file.
const burnsExample = `
# Rules about burns may also stand here, below all else, and then without burns = "FILE":
# of those that match a burn the first counts (sagitta help burn-rules).
# [[burns]]                     # the photo
# lines = [12, 4000]            # first and last line of the program
# depth_mm = 1.5
# [[burns]]                     # the outline
# power = [800, 1000]
# cuts = true
# into_stock_mm = 1.5
`

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
	case o.Name == burnsField:
		text += "; or write them as tables [[burns]] at the end"
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
