package record

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
)

// Burns are rules about the burns of a program: what is wanted of their focus, and what
// they do. Of those that match a burn the first counts.
type Burns []BurnRule

// BurnRule is one of them. What is unset of what it matches matches all; what is unset
// of what it sets is as for the whole job.
type BurnRule struct {
	// Lines are the lines of the program that it is for.
	Lines *LineSpans `toml:"lines" json:"lines,omitempty" as:"[40, 88]" is:"first and last line of the program that the rule is for, both in; several spans as in [[40, 88], [140, 188]]"`
	// Tool is the number of the tool word in force.
	Tool *int `toml:"tool" json:"tool,omitempty" as:"2" is:"the number of the tool word (T) in force"`
	// FeedMMMin is from which to which feed it is for, both of them in, in mm/min.
	FeedMMMin *[2]float64 `toml:"feed_mm_min" json:"feed_mm_min,omitempty" as:"[100, 600]" is:"from which to which programmed feed, both in"`
	// Power is the same of the power, as the power word says it.
	Power *[2]float64 `toml:"power" json:"power,omitempty" as:"[800, 1000]" is:"from which to which power, as the power word says it, both in"`

	// DetailMM is the smallest detail that must stay legible, from which the depth
	// follows, DepthMM that depth itself in place of the lens's.
	DetailMM *float64 `toml:"detail_mm" json:"detail_mm,omitempty" as:"0.4" is:"smallest detail of these burns that must stay legible: how far the lens is sharp for it follows from its record (smallest_detail_mm, and the beam for a finer one)"`
	DepthMM  *Sides   `toml:"depth_mm" json:"depth_mm,omitempty" as:"[-1.2, 1.8]" is:"how far nearer and further the lens is sharp for these burns, in place of what it is for the job; 1.5 says both sides. What is not sure is taken off as of the lens's"`
	// DefocusMM is the wanted defocus, + further; IntoStockMM says the same of what cuts:
	// how far best focus lies below the top of the stock.
	DefocusMM   *float64 `toml:"defocus_mm" json:"defocus_mm,omitempty" as:"0.5" is:"wanted defocus of these burns, + further, in place of --defocus"`
	IntoStockMM *float64 `toml:"into_stock_mm" json:"into_stock_mm,omitempty" as:"1.5" is:"how far best focus is to lie below the top of the stock: a defocus of as much nearer, for what cuts (cuts = true)"`
	// Use is the part of the depth to spend while nothing forces more.
	Use *float64 `toml:"use" json:"use,omitempty" as:"0.3" is:"part of the depth to spend on these burns while nothing forces more, in place of --use"`
	// Cuts tells that what it is for is cut through, and not only marked.
	Cuts *bool `toml:"cuts" json:"cuts,omitempty" as:"true" is:"these burns cut through, and do not only mark: split burns them last, and lets them overlap at seams"`

	places map[string]diag.Place // of its fields in the file
}

// Place is where a field stands in the file, the zero Place where it does not.
func (r *BurnRule) Place(field string) diag.Place { return r.places[field] }

// Digest is the SHA-256 of what the rules say, in hexadecimal.
func (b Burns) Digest() string {
	said, _ := json.Marshal(b)
	return fmt.Sprintf("%x", sha256.Sum256(said))
}

// Text is a file of them, which ReadBurns reads.
func (b Burns) Text() ([]byte, error) {
	var text bytes.Buffer
	e := toml.NewEncoder(&text)
	e.Indent = ""
	err := e.Encode(map[string]Burns{"burns": b})
	return text.Bytes(), err
}

// Sides are the two sides of a depth in mm: nearer below zero, further above. In a file
// one number says both.
type Sides [2]float64

// UnmarshalTOML reads a number, or a pair of them.
func (s *Sides) UnmarshalTOML(v any) error {
	wrong := errors.New("wants mm, as in 1.5, or nearer and further, as in [-1.2, 1.8]")
	pair, two := v.([]any)
	if !two {
		pair = []any{v, v}
	}
	if len(pair) != 2 {
		return wrong
	}
	for k, n := range pair {
		switch n := n.(type) {
		case int64:
			s[k] = float64(n)
		case float64:
			s[k] = n
		default:
			return wrong
		}
	}
	if !two {
		s[0] = -s[0]
	}
	return nil
}

// Depth is the depth between them.
func (s *Sides) Depth() focus.Depth { return focus.Depth{Near: -s[0], Far: s[1]} }

// Burn is what rules look at of a burn.
type Burn struct {
	// Line is that of the program, Tool the number of the tool word in force, -1
	// where there was none.
	Line, Tool int
	// FeedMMMin is the programmed feed, Power what the power word said.
	FeedMMMin, Power float64
}

// Match gives the rule that counts for a burn, by its number from 0; -1 where none does.
func (b Burns) Match(burn Burn) int {
	for i := range b {
		if b[i].matches(&burn) {
			return i
		}
	}
	return -1
}

// TellCuts reports whether any rule says that burns cut, or that they do not.
func (b Burns) TellCuts() bool {
	return slices.ContainsFunc(b, func(r BurnRule) bool { return r.Cuts != nil })
}

// Cutting reports whether what the rule is for is cut.
func (r *BurnRule) Cutting() bool { return r.Cuts != nil && *r.Cuts }

// Defocus is the wanted defocus in mm, + further; nil where it is the job's.
func (r *BurnRule) Defocus() *float64 {
	if r.IntoStockMM != nil {
		d := -*r.IntoStockMM
		return &d
	}
	return r.DefocusMM
}

// Focuses reports whether the rule sets anything of the focus.
func (r *BurnRule) Focuses() bool {
	return r.DetailMM != nil || r.DepthMM != nil || r.Defocus() != nil || r.Use != nil
}

func (r *BurnRule) matches(b *Burn) bool {
	return (r.Lines == nil || r.Lines.Has(b.Line)) &&
		(r.Tool == nil || *r.Tool == b.Tool) && within(r.FeedMMMin, b.FeedMMMin) && within(r.Power, b.Power)
}

func within(span *[2]float64, v float64) bool {
	return span == nil || span[0] <= v && v <= span[1]
}

// ReadBurns reads such rules, each a table [[burns]]; name stands for the file in
// errors. An error of content is a *diag.Error.
func ReadBurns(r io.Reader, name string) (Burns, error) { return readBurns(r, name, false) }

// ReadBurnsAmong reads the rules of a file that says other things too, as a job file does.
func ReadBurnsAmong(r io.Reader, name string) (Burns, error) { return readBurns(r, name, true) }

func readBurns(r io.Reader, name string, among bool) (Burns, error) {
	md, raw, text, err := decode(r, name)
	if err != nil {
		return nil, err
	}
	var tables []map[string]toml.Primitive
	for _, key := range md.Keys() {
		if key[0] != "burns" && !among {
			return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name, Line: lineOf(md, raw[key[0]], maxDotted)}, Field: printable(key[0]), What: "no such field: rules stand below [[burns]]"}
		}
	}
	if md.PrimitiveDecode(raw["burns"], &tables) != nil || len(tables) == 0 {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, What: "has no rule, such as [[burns]] with lines = [40, 88] and depth_mm = 0.8 below it"}
	}
	b, err := burnsOf(md, tables, name, text)
	if e := diag.As(err); e != nil && among && strings.HasPrefix(e.What, "no such field") {
		e.Hint = "below [[burns]] stand fields of that rule; those of the job stand above the first"
	}
	return b, err
}

// BurnsFrom gives the rules that JSON says, as their own makes it.
func BurnsFrom(said []byte) (b Burns, err error) {
	d := json.NewDecoder(bytes.NewReader(said))
	d.DisallowUnknownFields()
	if err = d.Decode(&b); err == nil && len(b) > mostRules {
		err = errors.New("more than 100 rules")
	}
	for i := range b {
		if err == nil {
			err = b[i].validate(i)
		}
	}
	return b, err
}

// mostRules bounds the rules: each is asked of each burn.
const mostRules = 100

// burnsOf reads the rules in the tables of a file that was decoded from a text.
func burnsOf(md toml.MetaData, tables []map[string]toml.Primitive, name string, text []byte) (Burns, error) {
	if len(tables) > mostRules {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, Field: "burns", What: "are more than 100 rules: join some"}
	}
	b, all := make(Burns, len(tables)), placesOf(text, name)
	for i, table := range tables {
		_, err := fill(md, table, slices.Sorted(maps.Keys(table)), name, fieldsOf(&b[i]))
		var places map[string]diag.Place
		if len(all) == len(tables) { // else they are written in another way
			places = all[i]
		}
		b[i].places = places
		if err == nil {
			err = b[i].validate(i)
		}
		e := diag.As(err)
		if e == nil {
			continue
		}
		e.Place = places[e.Field]
		e.File = name
		return nil, err
	}
	return b, nil
}

// placesOf gives where the fields of each rule stand. The decoder tells positions by the
// name of a field alone, of which there may be one in each rule; so the lines are looked
// through for it.
func placesOf(text []byte, name string) (all []map[string]diag.Place) {
	n, within := 0, false
	for line := range strings.Lines(string(text)) {
		n++
		said := strings.TrimSpace(line)
		if head, is := strings.CutPrefix(said, "[["); is {
			head, _, _ = strings.Cut(head, "]]")
			if within = strings.TrimSpace(head) == "burns"; within {
				all = append(all, map[string]diag.Place{})
			}
			continue
		}
		field, value, is := strings.Cut(said, "=")
		if is && within && !strings.HasPrefix(said, "#") {
			at := strings.Index(line, "=") + 1
			at += len(line[at:]) - len(strings.TrimLeft(line[at:], " \t"))
			if value = strings.TrimSpace(value); value != "" {
				all[len(all)-1][strings.Trim(strings.TrimSpace(field), "\"'")] = diag.Place{File: name, Line: n, Col: at + 1}
			}
		}
	}
	return all
}

// mostMM bounds what is wanted of a focus: beyond is a slip.
const mostMM = 1000

// validate checks rule i by itself.
func (r *BurnRule) validate(i int) error {
	for _, f := range []struct {
		name string
		span *[2]float64
	}{{"feed_mm_min", r.FeedMMMin}, {"power", r.Power}} {
		if s := f.span; s != nil && !(0 <= s[0] && s[0] <= s[1] && s[1] <= math.MaxFloat64) {
			return wrong(f.name, "wants a least of 0 or more, then a greatest that is no less, as in [%s], not [%g, %g]", examples[f.name], s[0], s[1])
		}
	}
	positive := func(v *float64, most float64) bool { return v == nil || *v > 0 && *v <= most }
	if r.Lines != nil {
		if err := r.Lines.check(); err != nil {
			return wrong("lines", "%v", err)
		}
	}
	switch {
	case r.Tool != nil && *r.Tool < 0:
		return wrong("tool", "wants 0 or more, not %d", *r.Tool)
	case !positive(r.DetailMM, mostMM):
		return wrong("detail_mm", "wants mm above 0 up to %d, not %g", mostMM, *r.DetailMM)
	case r.DepthMM != nil && (r.DepthMM.Depth().Check() != nil || max(-r.DepthMM[0], r.DepthMM[1]) > mostMM):
		return wrong("depth_mm", "wants mm above 0, as in 1.5, or nearer below zero and further above, as in [-1.2, 1.8], not [%g, %g]", r.DepthMM[0], r.DepthMM[1])
	case r.DepthMM != nil && r.DetailMM != nil:
		return wrong("detail_mm", "stands beside depth_mm, which says the depth itself: one of them")
	case r.DefocusMM != nil && !(math.Abs(*r.DefocusMM) <= mostMM):
		return wrong("defocus_mm", "wants mm from -%d to %d, not %g", mostMM, mostMM, *r.DefocusMM)
	case !positive(r.IntoStockMM, mostMM):
		return wrong("into_stock_mm", "wants mm above 0 up to %d below the top of the stock, not %g", mostMM, *r.IntoStockMM)
	case r.IntoStockMM != nil && r.DefocusMM != nil:
		return wrong("into_stock_mm", "stands beside defocus_mm, and both say where best focus is to lie: one of them")
	case r.IntoStockMM != nil && !r.Cutting():
		return wrong("into_stock_mm", "is for what cuts: write cuts = true beside it, or defocus_mm = %g in its place", -*r.IntoStockMM)
	case !positive(r.Use, 1):
		return wrong("use", "wants a part of the depth, above 0 up to 1, not %g", *r.Use)
	case !r.Focuses() && r.Cuts == nil:
		return wrong(cmp.Or(r.matched(), "burns"), "rule %d says nothing of what it matches: write what these burns are to have, as depth_mm = 0.8, defocus_mm = 0.5 or cuts = true", i+1)
	}
	return nil
}

// matched is a field by which the rule matches, "" where it matches all.
func (r *BurnRule) matched() string {
	for _, f := range fieldsOf(r) {
		if !f.Value.IsNil() {
			return f.Name
		}
	}
	return ""
}

var examples = map[string]string{"feed_mm_min": "100, 600", "power": "600, 1000"}
