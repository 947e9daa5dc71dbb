package surface

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// headerLine takes the comment that starts at r.line[at:] for a header line
// if it begins with one of the known keys and a colon. Other comments pass.
func (r *lineReader) headerLine(at int) error {
	text := r.line[at:]
	colon := bytes.IndexByte(text, ':')
	if colon < 0 {
		return nil
	}
	key := strings.ToLower(strings.TrimSpace(string(text[:colon])))
	switch key {
	case "units", "heights", "method", "error_mm", "noise_mm", "datum", "wraps_y_mm", "shift_mm", "rotate_deg":
	default:
		return nil
	}
	at += colon + 1
	for at < len(r.line) && blank(r.line[at]) {
		at++
	}
	value := bytes.TrimSpace(r.line[at:])
	if r.rows > 0 {
		return r.fail(0, fmt.Sprintf("header line %q must stand before the first row", key))
	}
	if was, again := r.header[key]; again {
		return r.fail(0, fmt.Sprintf("header line %q was already given in line %d", key, was.Line))
	}
	r.header[key] = r.here(at)
	return r.headerValue(key, value, at)
}

func (r *lineReader) headerValue(key string, value []byte, at int) error {
	word := strings.ToLower(string(value))
	switch key {
	case "units":
		if word != "mm" && word != "in" {
			return r.fail(at, fmt.Sprintf("units %s are neither mm nor in", quote(value)))
		}
		r.inch = word == "in"
	case "heights":
		if word != "up" && word != "down" {
			return r.fail(at, fmt.Sprintf("heights %s are neither up nor down", quote(value)))
		}
		r.down = word == "down"
	case "method":
		if !knownMethod(word) {
			return r.fail(at, fmt.Sprintf("method %s does not exist; use %s", quote(value), methodList))
		}
		r.set.Method = word
	case "datum":
		d, err := r.pair(key, value, at)
		r.set.Datum = d
		return err
	case "shift_mm":
		d, err := r.pair(key, value, at)
		if err == nil && !(math.Abs(d[0]) <= maxCoordMM && math.Abs(d[1]) <= maxCoordMM) {
			return r.fail(at, fmt.Sprintf("shift_mm is not within %g mm of zero", maxCoordMM))
		}
		r.set.Shift = d
		return err
	case "rotate_deg":
		v, ok := parseNumber(value)
		if !ok || v < -360 || v > 360 {
			return r.fail(at, fmt.Sprintf("rotate_deg %s is not an angle in degrees", quote(value)))
		}
		r.set.RotateDeg = v
	default:
		v, ok := parseNumber(value)
		if !ok || v < 0 || v > maxCoordMM || key == "wraps_y_mm" && v == 0 {
			return r.fail(at, fmt.Sprintf("%s %s is not a length in mm", key, quote(value)))
		}
		switch key {
		case "error_mm":
			r.set.ErrorMM = v
		case "noise_mm":
			r.set.NoiseMM = v
		case "wraps_y_mm":
			r.set.WrapsYMM = v
		}
	}
	return nil
}

// pair reads X,Y. The numbers of a datum are kept as the file has them: they
// are in its units, which a later line may say.
func (r *lineReader) pair(key string, value []byte, at int) (*[2]float64, error) {
	parts := bytes.FieldsFunc(value, func(c rune) bool {
		return c == ',' || c == ';' || c == ' ' || c == '\t'
	})
	var d [2]float64
	for k, part := range parts {
		v, ok := parseNumber(part)
		if !ok || k > 1 {
			return nil, r.fail(at, fmt.Sprintf("%s %s is not two numbers X,Y", key, quote(value)))
		}
		d[k] = v
	}
	if len(parts) != 2 {
		return nil, r.fail(at, fmt.Sprintf("%s %s is not two numbers X,Y", key, quote(value)))
	}
	return &d, nil
}
