package file

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"strings"

	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// mmPerInch is exact by definition (1959).
const mmPerInch = 25.4

// Said is what is known of a file's numbers whatever its header lines say; ""
// for nothing.
type Said struct {
	Units   string // mm or in; or both, of x, y and z, see Units
	Heights string // up or down
}

// Units are the units that a file may be in: all its numbers in one, or heights in
// another than places, as with a dial gauge in inches on a bench in mm.
const Units = "mm|in|mm,mm,in|in,in,mm"

// KnownUnits reports whether units are among Units.
func KnownUnits(units string) bool { return slices.Contains(strings.Split(Units, "|"), units) }

// UnitMM is how long a unit of places is.
func (s Said) UnitMM() float64 { return unitMM(strings.HasPrefix(s.Units, "in")) }

// HeightMM is how long a unit of heights is.
func (s Said) HeightMM() float64 { return unitMM(strings.HasSuffix(s.Units, "in")) }

func unitMM(inches bool) float64 {
	if inches {
		return mmPerInch
	}
	return 1
}

// Up turns a height into one that is positive upwards.
func (s Said) Up(height float64) float64 {
	if s.Heights == "down" {
		return 0 - height // not -height: no negative zero
	}
	return height
}

// HeaderLines is what the header lines of a file say. The datum is as the file has it,
// in its units.
type HeaderLines struct {
	surface.Header
	Said Said
}

// setting takes a comment for a header line if its key is known. Other comments
// pass.
func (r *reader) setting(key string) error {
	switch key {
	case "error_row":
		list := r.List(0)
		r.errorRows = append(r.errorRows, list.Clone())
		return nil
	case "units", "heights", "method", "error_mm", "noise_mm", "datum", "wraps_y_mm", "shift_mm", "rotate_deg", "made_of":
	default:
		return nil
	}
	if r.Rows > 0 {
		return r.Fail(-1, "header line %q must stand before the first row", key)
	}
	if was, again := r.where[key]; again {
		return r.Fail(-1, "header line %q was already given in line %d", key, was.Line)
	}
	r.where[key] = r.Place(0)
	err := r.Take(key, &r.Row)
	r.Said = Said{cmp.Or(r.over.Units, r.Said.Units), cmp.Or(r.over.Heights, r.Said.Heights)}
	return err
}

// Take takes the value of a header line, the only field of the row. Other keys
// pass.
func (h *HeaderLines) Take(key string, row *table.Row) error {
	value := row.Text(0)
	bad := func(what string) error { return row.Fail(0, "%s %s %s", key, table.Quote(value), what) }
	word := strings.ToLower(string(value))
	switch key {
	case "units":
		if word = strings.ReplaceAll(word, " ", ""); !KnownUnits(word) {
			return bad("are neither mm nor in, nor mm,mm,in for heights in inches")
		}
		h.Said.Units = word
	case "heights":
		if word != "up" && word != "down" {
			return bad("are neither up nor down")
		}
		h.Said.Heights = word
	case "method":
		if !surface.KnownMethod(word) {
			return bad("does not exist; use " + surface.Methods)
		}
		h.Method = word
	case "made_of":
		if hex, ok := strings.CutPrefix(word, "sha256:"); !ok || len(hex) != 64 || strings.Trim(hex, "0123456789abcdef") != "" {
			return bad("is no digest, sha256: and 64 digits")
		}
		h.MadeOf = word
	case "datum", "shift_mm":
		d, ok := pair(row)
		if !ok {
			return bad("is not two numbers X,Y")
		}
		if key == "datum" { // judged at the end, when the units are known
			h.Datum = d
			return nil
		}
		if !within(d, surface.MaxCoordMM) {
			return row.Fail(0, "shift_mm is not within %g mm of zero", surface.MaxCoordMM)
		}
		h.Shift = d
	case "rotate_deg":
		v, ok := row.Parse(value)
		if !ok || v < -360 || v > 360 {
			return bad("is not an angle in degrees")
		}
		h.RotateDeg = v
	case "error_mm", "noise_mm", "wraps_y_mm":
		v, ok := row.Parse(value)
		if !ok || v < 0 || v > surface.MaxCoordMM || key == "wraps_y_mm" && v == 0 {
			return bad("is not a length in mm")
		}
		*map[string]*float64{"error_mm": &h.ErrorMM, "noise_mm": &h.NoiseMM, "wraps_y_mm": &h.WrapsYMM}[key] = v
		h.ErrorSaid = h.ErrorSaid || key == "error_mm"
	}
	return nil
}

// pair reads X,Y. The numbers of a datum are kept as the file has them: they
// are in its units, which a later line may say.
func pair(row *table.Row) (*[2]float64, bool) {
	parts := bytes.FieldsFunc(row.Text(0), func(c rune) bool {
		return c == ',' || c == ';' || c == ' ' || c == '\t'
	})
	if len(parts) != 2 {
		return nil, false
	}
	x, okX := row.Parse(parts[0])
	y, okY := row.Parse(parts[1])
	return &[2]float64{x, y}, okX && okY
}

func within(d *[2]float64, limit float64) bool {
	return math.Abs(d[0]) <= limit && math.Abs(d[1]) <= limit
}

// coordinate reads field k of the row as a place on an axis, in mm.
func (r *reader) coordinate(row *table.Row, k int, axis string) (float64, error) {
	return r.length(row, k, axis, r.Said.UnitMM(), surface.MaxCoordMM)
}

// height reads field k of the row as a height in mm, up positive; NaN when
// missing.
func (r *reader) height(row *table.Row, k int) (float64, error) {
	if b := row.Text(k); len(b) == 0 || isNaN(b) {
		return math.NaN(), nil
	}
	v, err := r.length(row, k, "height", r.Said.HeightMM(), surface.MaxHeightMM)
	return r.Said.Up(v), err
}

// length reads a length in units of so many mm.
func (r *reader) length(row *table.Row, k int, what string, unit, limit float64) (float64, error) {
	v, err := row.Number(k, what)
	if err != nil {
		return 0, err
	}
	if v *= unit; math.Abs(v) > limit {
		return 0, row.Fail(k, "%s %s is not within %g mm of zero", what, table.Quote(row.Text(k)), limit)
	}
	return v, nil
}

// looksNumeric reports whether text means to be a number, though it may not be
// a valid one: such a field is never taken for a label.
func looksNumeric(b []byte) bool {
	t := strings.ToLower(strings.TrimLeft(string(b), "+-"))
	if t == "inf" || t == "infinity" {
		return true
	}
	return t != "" && (t[0] >= '0' && t[0] <= '9' || t[0] == '.' && len(t) > 1 && t[1] >= '0' && t[1] <= '9')
}

func isNaN(b []byte) bool { return len(b) == 3 && bytes.EqualFold(b, []byte("nan")) }
