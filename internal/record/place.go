package record

import (
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
)

// Place is where one of many parts lies that one program is made for, a table [[place]].
type Place struct {
	// Shift is where the part's X0 Y0 lies in mm, Rotate by how many degrees it is turned
	// about that, counter-clockwise.
	Shift  *[2]float64 `toml:"shift"`
	Rotate float64     `toml:"rotate" in:"(,)"`
	// RaiseMM is how much higher than measured the stock stands at X0 Y0 of the part, Tilt by
	// how much it rises from there along X and along Y of the jig, a length over a length;
	// both nil where readings are to tell.
	RaiseMM *float64    `toml:"raise_mm"`
	Tilt    *[2]float64 `toml:"tilt"`
	// StockMM is the stock there, x0, y0, x1, y1 in the part's own coordinates.
	StockMM *[4]float64 `toml:"stock_mm"`
	// Readings are touches of the stock there, a file.
	Readings string `toml:"readings"`
	// Skip leaves the part out.
	Skip bool `toml:"skip"`
}

const (
	// mostPlaces bounds the places of a jig: each is read of itself, and its stock adds four
	// lines to a surface each way.
	mostPlaces = 250
	// steepest is the most that stock in a jig may be tilted; more is a slip of unit.
	steepest = 0.2
	// highest in mm is the same of how much it stands higher.
	highest = 1000
)

// Raised reports whether the place says that its stock lies otherwise than measured.
func (p *Place) Raised() bool { return p.RaiseMM != nil || p.Tilt != nil }

// ReadPlaces reads the tables [[place]] of a file that may say other things too, such as a
// job file; name stands for it in errors. An error of content is a *diag.Error.
func ReadPlaces(r io.Reader, name string) ([]Place, error) {
	md, raw, _, err := decode(r, name)
	if err != nil {
		return nil, err
	}
	var tables []map[string]toml.Primitive
	if md.PrimitiveDecode(raw["place"], &tables) != nil || len(tables) == 0 {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, What: "has no place, such as [[place]] with shift = [120, 80] below it"}
	}
	if len(tables) > mostPlaces {
		return nil, &diag.Error{Kind: diag.Setting, Place: diag.Place{File: name}, Field: "place", What: fmt.Sprintf("are %d places, more than %d", len(tables), mostPlaces)}
	}
	list := make([]Place, len(tables))
	for i, table := range tables {
		p := &list[i]
		lines, err := fill(md, table, slices.Sorted(maps.Keys(table)), name, fieldsOf(p))
		if err != nil {
			return nil, err
		}
		if err := p.validate(i + 1); err != nil {
			if e := diag.As(err); lines[e.Field] == 0 && len(lines) > 0 {
				lines[e.Field] = slices.Min(slices.Collect(maps.Values(lines)))
			}
			return nil, place(err, name, lines)
		}
	}
	return list, nil
}

// validate checks place n by itself.
func (p *Place) validate(n int) error {
	if err := check(p); err != nil {
		return err
	}
	switch {
	case p.Shift == nil:
		return wrong("shift", "is missing from place %d: say where its X0 Y0 lies, as in shift = [120, 80]", n)
	case math.Hypot(p.Shift[0], p.Shift[1]) > 1e5:
		return wrong("shift", "wants mm within 100 m, not [%g, %g]", p.Shift[0], p.Shift[1])
	case math.Abs(p.Rotate) > 360:
		return wrong("rotate", "wants degrees from -360 to 360, not %g", p.Rotate)
	case p.RaiseMM != nil && math.Abs(*p.RaiseMM) > highest:
		return wrong("raise_mm", "wants mm from -%d to %d, not %g", highest, highest, *p.RaiseMM)
	case p.Tilt != nil && (math.Abs(p.Tilt[0]) > steepest || math.Abs(p.Tilt[1]) > steepest):
		return wrong("tilt", "wants a rise over a length, at most %g, not [%g, %g]: 2 mm over 100 mm are 0.02", steepest, p.Tilt[0], p.Tilt[1])
	case p.StockMM != nil && !(p.StockMM[0] < p.StockMM[2] && p.StockMM[1] < p.StockMM[3]):
		return wrong("stock_mm", "wants x0, y0, then x1, y1 that are greater, as in [-5, -5, 105, 65]")
	case p.Readings != "" && (!filepath.IsLocal(p.Readings) || p.Readings == "."):
		return wrong("readings", "%s leads out of the folder of the file: put it into that folder", p.Readings)
	}
	return nil
}

// String says where a part lies, as on a sheet.
func (p *Place) String() string {
	text := "X" + phrase.Trimmed(p.Shift[0], 3) + " Y" + phrase.Trimmed(p.Shift[1], 3)
	var more []string
	if p.Rotate != 0 {
		more = append(more, "turned "+phrase.Trimmed(p.Rotate, 4)+" deg")
	}
	if p.RaiseMM != nil {
		more = append(more, "raised "+phrase.Trimmed(*p.RaiseMM, 3)+" mm")
	}
	if p.Tilt != nil {
		more = append(more, fmt.Sprintf("tilted %s along X, %s along Y", phrase.Trimmed(p.Tilt[0], 5), phrase.Trimmed(p.Tilt[1], 5)))
	}
	if p.Skip {
		more = append(more, "skipped")
	}
	if more != nil {
		text += ", " + strings.Join(more, ", ")
	}
	return text
}
