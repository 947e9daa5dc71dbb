package record

import (
	"io"
	"maps"
	"math"
	"slices"

	"github.com/BurntSushi/toml"

	"sagitta/internal/diag"
)

// Burns are rules that say what the burns of a program do: of those that match a
// burn the first counts.
type Burns []BurnRule

// BurnRule is one of them. What is unset matches all.
type BurnRule struct {
	// Lines are the first and the last line of the program that it is for.
	Lines *[2]int `toml:"lines" json:"lines,omitempty"`
	// Tool is the number of the tool word in force.
	Tool *int `toml:"tool" json:"tool,omitempty"`
	// FeedMMMin is from which to which feed it is for, both of them in, in mm/min.
	FeedMMMin *[2]float64 `toml:"feed_mm_min" json:"feed_mm_min,omitempty"`
	// Power is the same of the power, as the power word says it.
	Power *[2]float64 `toml:"power" json:"power,omitempty"`
	// Cuts tells that what it is for is cut through, and not only marked.
	Cuts *bool `toml:"cuts" json:"cuts,omitempty"`
}

// Burn is what rules look at of a burn.
type Burn struct {
	// Line is that of the program, Tool the number of the tool word in force, -1
	// where there was none.
	Line, Tool int
	// FeedMMMin is the programmed feed, Power what the power word said.
	FeedMMMin, Power float64
}

// notYet are fields of rules that are to come.
var notYet = []string{"detail_mm", "depth_mm", "defocus_mm", "into_stock_mm", "use"}

// Cuts reports whether a burn cuts. Without a rule that matches it only marks.
func (b Burns) Cuts(burn Burn) bool {
	for i := range b {
		if b[i].matches(&burn) {
			return *b[i].Cuts
		}
	}
	return false
}

func (r *BurnRule) matches(b *Burn) bool {
	return (r.Lines == nil || r.Lines[0] <= b.Line && b.Line <= r.Lines[1]) &&
		(r.Tool == nil || *r.Tool == b.Tool) && within(r.FeedMMMin, b.FeedMMMin) && within(r.Power, b.Power)
}

func within(span *[2]float64, v float64) bool {
	return span == nil || span[0] <= v && v <= span[1]
}

// ReadBurns reads such rules, each a table [[burns]]; name stands for the file in
// errors. An error of content is a *diag.Error.
func ReadBurns(r io.Reader, name string) (Burns, error) {
	md, raw, err := decode(r, name)
	if err != nil {
		return nil, err
	}
	var tables []map[string]toml.Primitive
	for _, key := range md.Keys() {
		if key[0] != "burns" {
			return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name, Line: lineOf(md, raw[key[0]], maxDotted)}, Field: printable(key[0]), What: "no such field: rules stand below [[burns]]"}
		}
	}
	if md.PrimitiveDecode(raw["burns"], &tables) != nil || len(tables) == 0 {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, What: "has no rule, such as [[burns]] with lines = [40, 88] and cuts = true below it"}
	}
	b := make(Burns, len(tables))
	for i, table := range tables {
		for _, field := range notYet {
			if p, has := table[field]; has {
				return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name, Line: lineOf(md, p, maxDotted)}, Field: field, What: "is not known to rules yet: leave it out"}
			}
		}
		lines, err := fill(md, table, slices.Sorted(maps.Keys(table)), name, fieldsOf(&b[i]))
		if err != nil {
			return nil, err
		}
		if b[i].Cuts == nil && len(lines) > 0 {
			lines["cuts"] = slices.Min(slices.Collect(maps.Values(lines)))
		}
		if err := place(b[i].validate(i), name, lines); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// validate checks rule i by itself.
func (r *BurnRule) validate(i int) error {
	switch {
	case r.Cuts == nil:
		return wrong("cuts", "is missing from rule %d, which then says nothing: write cuts = true, or cuts = false", i+1)
	case r.Lines != nil && !(1 <= r.Lines[0] && r.Lines[0] <= r.Lines[1]):
		return wrong("lines", "wants a first line of 1 or more, then a last that is no less, as in [40, 88], not [%d, %d]", r.Lines[0], r.Lines[1])
	case r.Tool != nil && *r.Tool < 0:
		return wrong("tool", "wants 0 or more, not %d", *r.Tool)
	}
	for _, f := range []struct {
		name string
		span *[2]float64
	}{{"feed_mm_min", r.FeedMMMin}, {"power", r.Power}} {
		if s := f.span; s != nil && !(0 <= s[0] && s[0] <= s[1] && s[1] <= math.MaxFloat64) {
			return wrong(f.name, "wants a least of 0 or more, then a greatest that is no less, as in [%s], not [%g, %g]", examples[f.name], s[0], s[1])
		}
	}
	return nil
}

var examples = map[string]string{"feed_mm_min": "100, 600", "power": "600, 1000"}
