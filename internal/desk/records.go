package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/desk/choice"
	"sagitta/internal/diag"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// form is a kind of record that can be made on the page.
type form struct {
	kind string
	make func() record.Record
	read func(text []byte, name string) (record.Record, error)
}

var forms = []form{
	{"lens", func() record.Record { return &record.Lens{} }, func(text []byte, name string) (record.Record, error) {
		return record.ReadLens(bytes.NewReader(text), name)
	}},
	{"machine", func() record.Record { return record.DefaultMachine() }, func(text []byte, name string) (record.Record, error) {
		return record.ReadMachine(bytes.NewReader(text), name)
	}},
}

// entry is a field of a record as the page asks for it.
type entry struct {
	record.Field
	Words []string // those that there are, nil where it is not one of some words
	Yes   bool     // true or false
}

// entries are the fields of a kind of record.
func entries(r record.Record) []entry {
	var list []entry
	tags := option.Named("toml", r)
	for k, f := range record.Fields(r) {
		e := entry{Field: f}
		switch tags[k].Value.Kind() {
		case reflect.String:
			if tags[k].In != "" {
				e.Words = strings.Split(tags[k].In, "|")
			}
		case reflect.Bool:
			e.Yes = true
		}
		list = append(list, e)
	}
	return list
}

// formOf is the form of a kind of record.
func formOf(kind string) (form, error) {
	i := slices.IndexFunc(forms, func(f form) bool { return f.kind == kind })
	if i < 0 {
		return form{}, faultf(http.StatusBadRequest, "there is no form of that kind")
	}
	return forms[i], nil
}

// fieldsOf gives what a form of the page has to have typed in it to write a record that is
// there: what is as usual is blank.
func (d *Desk) fieldsOf(r *http.Request) (any, error) {
	form, err := formOf(r.URL.Query().Get("kind"))
	if err != nil {
		return nil, err
	}
	name := r.URL.Query().Get("name")
	if err := d.folder.Has(name); err != nil {
		return nil, faultf(http.StatusNotFound, "%v", err)
	}
	text, err := d.folder.Read(name, mostShown)
	if err != nil {
		return nil, err
	}
	made, err := form.read(text, name)
	if err != nil {
		return nil, err
	}
	typed, usual := map[string]string{}, record.Fields(form.make())
	for k, f := range record.Fields(made) {
		if f.Default == usual[k].Default {
			continue
		}
		typed[f.Name] = f.Default
		if text, err := strconv.Unquote(f.Default); err == nil {
			typed[f.Name] = text
		}
	}
	return map[string]any{"name": name, "fields": typed}, nil
}

// keepRecord writes a record whose form was filled in. An error names the field.
func (d *Desk) keepRecord(r *http.Request) (any, error) {
	kind := r.URL.Query().Get("kind")
	form, err := formOf(kind)
	if err != nil {
		return nil, err
	}
	c, err := d.keep.shown(r)
	if err != nil {
		return nil, err
	}
	name := c.Names()[kind]
	if err := checkDropped(name); err != nil {
		return nil, err
	}
	if !strings.HasSuffix(name, ".toml") {
		return nil, &fault{status: http.StatusUnprocessableEntity, Field: "result-" + kind, Text: name + ": wants a name that ends in .toml"}
	}
	text, err := toml(form.make(), c.Drafts[kind])
	if err != nil {
		return nil, ofField(kind, err)
	}
	made, err := form.read(text, name)
	if err != nil {
		return nil, ofField(kind, err)
	}
	var out bytes.Buffer
	if err := record.Write(&out, made); err != nil {
		return nil, ofField(kind, err)
	}
	if err := d.put(r, name, out.Bytes()); err != nil {
		return nil, err
	}
	return map[string]any{"name": name}, nil
}

// ofField is an error of a field of a form.
func ofField(kind string, err error) error {
	f := &fault{status: http.StatusUnprocessableEntity, Text: err.Error()}
	if e := diag.As(err); e != nil {
		f.Text = e.What
		if e.Field != "" {
			f.Field, f.Text = kind+"-"+e.Field, e.Field+": "+e.What
		}
	}
	return f
}

var (
	numbersIn = regexp.MustCompile(`^[-+0-9.eE,;\s\[\]]*$`)
	apart     = regexp.MustCompile(`[\s,;]+`)
)

// toml makes the text of a record of a form: fields that are blank are left out.
func toml(r record.Record, form map[string]string) ([]byte, error) {
	var b strings.Builder
	for _, f := range option.Named("toml", r) {
		text := strings.TrimSpace(form[f.Name])
		if text == "" {
			continue
		}
		value, err := tomlValue(f, text)
		if err != nil {
			return nil, &diag.Error{Kind: diag.Setting, Field: f.Name, What: err.Error()}
		}
		fmt.Fprintf(&b, "%s = %s\n", f.Name, value)
	}
	return []byte(b.String()), nil
}

func tomlValue(f option.Option, text string) (string, error) {
	t := f.Value.Type()
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t.Kind() == reflect.String:
		quoted, err := json.Marshal(text)
		return string(quoted), err
	case t.Kind() == reflect.Bool:
		v, err := strconv.ParseBool(text)
		return strconv.FormatBool(v), err
	case t.Kind() == reflect.Float64 || t.Kind() == reflect.Int:
		return choice.Number(text)
	case t == reflect.TypeFor[record.MWords]():
		var words []string
		for _, w := range apart.Split(strings.Trim(text, "[] "), -1) {
			if w != "" {
				words = append(words, strconv.Quote(strings.Trim(w, `"`)))
			}
		}
		return "[" + strings.Join(words, ", ") + "]", nil
	case !numbersIn.MatchString(text):
		return "", fmt.Errorf("wants numbers, as in %s, not %q", f.Tag.Get("as"), text)
	case t == reflect.TypeFor[record.Steps]():
		return text, nil
	}
	list, err := choice.Numbers(strings.Trim(text, "[] \t"))
	return "[" + strings.Join(list, ", ") + "]", err
}
