// Package choice is what was chosen and typed at the desk, as it was typed, and the
// command lines of the tool that come of it. It runs nothing and opens no file.
package choice

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagitta/internal/desk/folder"
)

// Schema is that of the file of choices.
const Schema = 1

// Limits of what is kept: far beyond what a person types.
const (
	// MostBytes is how long the file of choices may be.
	MostBytes = 1 << 20
	mostText  = 400
	mostNodes = 60 // along each side of a table of heights
	mostList  = 20
	mostNamed = 100
)

// Choices are what was chosen and typed. Texts are as they were typed, and may be wrong.
type Choices struct {
	Schema  int     `json:"schema"`
	Program string  `json:"program"`
	Heights Heights `json:"heights"`
	// Depth is how the depth of the lens is known: of Lenses, files of records, or as
	// the text of Sharp. With is the record that one program is burned with.
	Depth  string   `json:"depth"`
	Lenses []string `json:"lenses"`
	With   string   `json:"with"`
	Sharp  string   `json:"sharp"`
	// Machine and KeepOut are files, "" for none.
	Machine string `json:"machine"`
	KeepOut string `json:"keep_out"`
	// Way is what is to be done.
	Way string `json:"way"`
	// Options are those of the commands by their names.
	Options map[string]string `json:"options"`
	// Results are the names of what is written, by what it is.
	Results map[string]string `json:"results"`
	// Drafts are forms of records that are being filled in.
	Drafts map[string]map[string]string `json:"drafts"`
}

// Heights are the measured heights.
type Heights struct {
	// From is where they come from.
	From string `json:"from"`
	File string `json:"file"`
	// Reading are the options that say how the file is read.
	Reading map[string]string `json:"reading"`
	Table   Table             `json:"table"`
}

// Words that fields have.
const (
	FromFile  = "file"
	FromTable = "table"

	ByRecord = "record"
	BySharp  = "sharp"

	Flat         = "flat"
	Follow       = "follow"
	Split        = "split"
	SplitFollows = "split-follow"
)

// New are the choices of an empty desk.
func New() *Choices {
	c := &Choices{Schema: Schema, Depth: BySharp, Way: Follow, Heights: Heights{From: FromFile}}
	c.fill()
	return c
}

// fill puts what is empty in the place of what is nil.
func (c *Choices) fill() {
	for _, m := range []*map[string]string{&c.Options, &c.Results, &c.Heights.Reading} {
		if *m == nil {
			*m = map[string]string{}
		}
	}
	if c.Drafts == nil {
		c.Drafts = map[string]map[string]string{}
	}
	if c.Lenses == nil {
		c.Lenses = []string{}
	}
	c.Heights.Table.fill()
}

// Read reads choices, with every field checked.
func Read(text []byte) (*Choices, error) {
	if len(text) > MostBytes {
		return nil, fmt.Errorf("it has more than %d bytes", MostBytes)
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	var c Choices
	if err := d.Decode(&c); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("something stands behind its end")
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	c.fill()
	return &c, nil
}

// Text is the file of choices.
func (c *Choices) Text() ([]byte, error) {
	b, err := json.MarshalIndent(c, "", " ")
	return append(b, '\n'), err
}

// check checks every field.
func (c *Choices) check() error {
	if c.Schema != Schema {
		return fmt.Errorf("schema: wants %d, not %d", Schema, c.Schema)
	}
	for _, w := range []struct {
		name, is string
		of       []string
	}{
		{"heights.from", c.Heights.From, []string{FromFile, FromTable}},
		{"depth", c.Depth, []string{ByRecord, BySharp}},
		{"way", c.Way, []string{Flat, Follow, Split, SplitFollows}},
		{"heights.table.units", c.Heights.Table.Units, []string{"", "mm", "in"}},
	} {
		if !slices.Contains(w.of, w.is) {
			return fmt.Errorf("%s: wants one of %s, not %q", w.name, strings.Join(w.of, ", "), w.is)
		}
	}
	if len(c.Lenses) > mostList {
		return fmt.Errorf("lenses: %d of them; %d are the most", len(c.Lenses), mostList)
	}
	files := append([]string{c.Program, c.Heights.File, c.With, c.Machine, c.KeepOut}, c.Lenses...)
	for _, name := range files {
		if name == "" {
			continue
		}
		if err := folder.CheckName(name); err != nil {
			return err
		}
	}
	for _, err := range []error{
		checkText("sharp", c.Sharp), checkMap("options", c.Options), checkMap("results", c.Results),
		checkMap("heights.reading", c.Heights.Reading), c.Heights.Table.check(),
	} {
		if err != nil {
			return err
		}
	}
	if len(c.Drafts) > mostList {
		return fmt.Errorf("drafts: %d of them; %d are the most", len(c.Drafts), mostList)
	}
	for name, d := range c.Drafts {
		if err := checkText("drafts", name); err != nil {
			return err
		}
		if err := checkMap("drafts."+name, d); err != nil {
			return err
		}
	}
	return nil
}

// checkMap checks texts by their names.
func checkMap(field string, m map[string]string) error {
	if len(m) > mostNamed {
		return fmt.Errorf("%s: %d of them; %d are the most", field, len(m), mostNamed)
	}
	for name, text := range m {
		if err := checkText(field, name); err != nil {
			return err
		}
		if err := checkText(field+"."+name, text); err != nil {
			return err
		}
	}
	return nil
}

// checkText checks that a text is one line that a person can have typed.
func checkText(field, text string) error {
	switch {
	case len(text) > mostText:
		return fmt.Errorf("%.80q: has %d bytes; %d are the most", field, len(text), mostText)
	case !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl):
		return fmt.Errorf("%.80q: %.80q has characters that cannot be typed", field, text)
	}
	return nil
}
