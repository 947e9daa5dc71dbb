package file

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/BurntSushi/toml"

	"sagitta/internal/diag"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// mostFiles is how many files a job file may name in a list: no bench has more lenses, nor a
// sheet more rounds.
const mostFiles = 1000

// Read reads a job file, which may give options as well; name stands for it in errors.
func Read(r io.Reader, name string, options []Option) (*Job, error) {
	j, err := read(r, name, options)
	if err != nil {
		return nil, err
	}
	return j, j.check()
}

// ReadFor reads a job file that says how any program is done, and so names none, as the job
// of a program.
func ReadFor(program string, r io.Reader, name string, options []Option) (*Job, error) {
	j, err := read(r, name, options)
	if err != nil {
		return nil, err
	}
	if j.Program != "" {
		return nil, j.Wrong("program", "leave it out, or give the file another name", "is named, and %s says how programs are done that no job file names", name)
	}
	j.Program = program
	return j, j.check()
}

// read reads the fields of a job file, each by itself.
func read(r io.Reader, name string, options []Option) (*Job, error) {
	text, err := io.ReadAll(io.LimitReader(r, record.MaxSettingsBytes+1))
	if err != nil {
		return nil, diag.IOError(fmt.Errorf("reading %s: %w", name, err))
	}
	j := Defaults()
	j.fields = places{file: name, text: string(text)}
	fields, of := j.named(options)
	j.fields.lines, err = record.ReadFields(bytes.NewReader(text), name, fields)
	if err != nil {
		if e := diag.As(err); e != nil && e.Field == "" && strings.HasPrefix(e.What, "key '"+burnsField+"'") {
			e.What, e.Hint = "[[burns]]: stands beside burns, which names a file of rules, or beside tables of another form", "leave one of them out"
		}
		return nil, j.fields.place(err)
	}
	if slices.ContainsFunc(fields, func(x option.Option) bool { return x.Name == burnsField && x.Value.String() == inTables }) {
		if j.Burns, err = record.ReadBurnsAmong(bytes.NewReader(text), name); err != nil {
			return nil, j.fields.shown(err)
		}
	}
	if _, has := j.fields.lines[placesField]; has {
		if j.Places, err = record.ReadPlaces(bytes.NewReader(text), name); err != nil {
			return nil, j.fields.shown(err)
		}
	}
	return j, j.take(fields, of)
}

// Is reports whether a TOML file is meant as a job: it has a field that only a job file
// has, or cannot be read, which somebody should hear of.
func Is(r io.Reader) bool {
	text, err := io.ReadAll(io.LimitReader(r, record.MaxSettingsBytes+1))
	if err != nil || len(text) > record.MaxSettingsBytes || record.TooDeep(text) > 0 {
		return true
	}
	var raw map[string]toml.Primitive
	if _, err := toml.Decode(string(text), &raw); err != nil {
		return true
	}
	for name := range maps.Keys(raw) {
		if slices.Contains([]string{"program", "surface", "measured", "lenses", "depth", "sharp", "fixture", "do", "out", placesField}, name) {
			return true
		}
	}
	return false
}

// named are the fields of the file with what they are read into, and of tells which of
// them are options.
func (j *Job) named(options []Option) (fields []option.Option, of map[string]*Option) {
	of = make(map[string]*Option, 2*len(options))
	fields = slices.Grow(option.Named("toml", j), 2*len(options))
	for i := range options {
		o := &options[i]
		x := o.Option
		x.Value = reflect.New(o.Value.Type()).Elem()
		if x.Name == burnsField {
			x.Value = reflect.New(reflect.TypeFor[rules]()).Elem()
		}
		fields = append(fields, x)
		of[o.Name] = o
		if other := o.Tag.Get("also"); other != "" {
			x.Name, x.Value = other, reflect.New(o.Value.Type()).Elem()
			fields = append(fields, x)
			of[other] = o
		}
	}
	sides := option.Option{Name: "sharp", Meaning: "the other name of depth", Value: reflect.New(reflect.TypeFor[Sides]()).Elem()}
	places := option.Option{Name: placesField, Meaning: "where parts lie, a table each", Value: reflect.New(reflect.TypeFor[elsewhere]()).Elem()}
	return append(fields, sides, places), of
}

// placesField is the name of tables that record.ReadPlaces reads.
const placesField = "place"

// burnsField is the option that names a file of rules about burns, or the tables of them.
const burnsField = "burns"

// rules is the name of a file of them, or inTables.
type rules string

const inTables = "[[burns]]"

// UnmarshalTOML takes a text, or tables, which are read elsewhere.
func (r *rules) UnmarshalTOML(v any) error {
	switch v := v.(type) {
	case string:
		*r = rules(v)
	case []map[string]any, []any:
		*r = inTables
	default:
		return errors.New(`wants the name of a file, as in burns = "burns.toml", or tables [[burns]] at the end of the job file`)
	}
	return nil
}

// elsewhere is a value that is read elsewhere.
type elsewhere struct{}

// UnmarshalTOML takes any.
func (*elsewhere) UnmarshalTOML(any) error { return nil }

// take takes what was read of the fields: options as they are typed, and the other name
// of the depth.
func (j *Job) take(fields []option.Option, of map[string]*Option) error {
	for _, x := range fields {
		if _, said := j.fields.lines[x.Name]; !said {
			continue
		}
		if err := j.held(&x); err != nil {
			return err
		}
		if o := of[x.Name]; o != nil && x.Name == burnsField && j.Burns != nil {
			j.Said = append(j.Said, Said{o, []string{filepath.Base(j.fields.file)}})
		} else if o != nil {
			j.Said = append(j.Said, Said{o, texts(x.Value)})
		}
		if x.Name == "sharp" {
			if _, both := j.fields.lines["depth"]; both {
				return j.Wrong("sharp", "leave one of them out", "stands beside depth, which is the same")
			}
			j.Depth = Sides(x.Value.String())
		}
	}
	return nil
}

// held holds a field to what it wants: its interval or its words, and that a text stays
// on one line.
func (j *Job) held(x *option.Option) error {
	if wants, ok := x.Check(); !ok {
		return j.Wrong(x.Name, "", "wants %s, not %s", wants, strings.Join(texts(x.Value), ", "))
	}
	if p, is := x.Value.Interface().(*[2]float64); is && p != nil && !(option.Within(p[0], "") && option.Within(p[1], "")) {
		return j.Wrong(x.Name, "", "wants two finite numbers, as in [10, 20]")
	}
	for _, text := range texts(x.Value) {
		if strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar }) {
			return j.Wrong(x.Name, "", "wants printable text on one line, not %q", text)
		}
	}
	return nil
}

// texts writes a value as it is typed.
func texts(v reflect.Value) []string {
	switch x := v.Interface().(type) {
	case []string:
		return x
	case *[2]float64:
		if x == nil {
			return nil
		}
		return []string{short(x[0]) + "," + short(x[1])}
	case float64:
		return []string{short(x)}
	case bool:
		return []string{strconv.FormatBool(x)}
	default:
		return []string{v.String()}
	}
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// check looks at the fields together.
func (j *Job) check() error {
	switch {
	case j.Program == "":
		return j.missing("program", `name the program, as in program = "plate.gcode"`)
	case len(j.Measured) > 0 && j.Gives("fixture"):
		return j.Wrong("measured", "leave one of them out", "stands beside fixture, whose record names the surface")
	case j.Surface == "" && len(j.Measured) == 0 && !j.Gives("fixture"):
		return j.missing("surface", `name the measured heights, as in surface = "sheet.csv", or touches, as in measured = ["touches.log"]`)
	case j.Surface != "" && len(j.Measured) > 0:
		return j.Wrong("measured", "leave one of them out", "stands beside surface")
	case len(j.Lenses) == 0 && j.Depth == "":
		return j.missing("lenses", `name the lens records, as in lenses = ["short.toml"], or a depth, as in depth = "1.5"`)
	case len(j.Lenses) > 0 && j.Depth != "":
		return j.Wrong("lenses", "leave one of them out", "stands beside depth")
	case j.Do == Follow && len(j.Lenses) > 1:
		return j.Wrong("lenses", `name one, or write do = "auto"`, "has %d, and a surface is followed with one", len(j.Lenses))
	case len(j.Lenses) > mostFiles:
		return j.Wrong("lenses", "", "has %d, more than %d", len(j.Lenses), mostFiles)
	case len(j.Measured) > mostFiles:
		return j.Wrong("measured", "", "has %d, more than %d", len(j.Measured), mostFiles)
	case j.Out == "":
		return j.Wrong("out", `as in out = "made"`, "wants a folder for the results")
	}
	for _, s := range j.Said {
		switch {
		case s.Measured && len(j.Measured) == 0:
			return j.Wrong(s.Name, "leave it out", "says how touches are read, and there are none: measured is not given")
		case s.For != nil && !slices.Contains(s.For, j.Do):
			return j.Wrong(s.Name, "leave it out", "is for do = \"%s\"", strings.Join(s.For, `" or "`))
		}
	}
	return j.within()
}

// missing is an error of a field that is not there.
func (j *Job) missing(field, hint string) error {
	return &diag.Error{Kind: diag.Setting, Place: diag.Place{File: j.fields.file}, Field: field, What: "is missing", Hint: hint}
}

// within refuses names that lead out of the folder by themselves.
func (j *Job) within() error {
	for _, n := range append(j.Inputs(), Named{"out", j.Out}) {
		if n.Name == "-" || n.Name == "" {
			return j.Wrong(n.Field, "", "wants the name of a file")
		}
		if !filepath.IsLocal(n.Name) {
			return j.Outside(n)
		}
	}
	if base := j.Base(); base == "." || strings.HasPrefix(base, ".") {
		return j.Wrong("program", "give it another name", "%s: results that are called so would be hidden", j.Program)
	}
	return nil
}

// Outside is the error of a name that leads out of the folder.
func (j *Job) Outside(n Named) error {
	return j.Wrong(n.Field, "put it into the folder of the job file: nothing outside of it is read or written", "%s leads out of the folder of the job file", n.Name)
}
