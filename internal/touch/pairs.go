package touch

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Pair is a place on the surface, and where it is in the program, mm.
type Pair struct {
	From, To [2]float64
	Line     int
}

// ReadPairs reads pairs of points: x and y of the surface, x and y of the
// program, four numbers in a line with whatever stands around them. Lines
// without a number pass; "# units: in" is kept to. It returns a *diag.Error for
// lines that are no pair, and the error of r where reading failed.
func ReadPairs(r io.Reader, name string) ([]Pair, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxLogBytes+1))
	if err != nil {
		return nil, err
	}
	l := &log{name: name, text: bytes.TrimPrefix(b, []byte("\xef\xbb\xbf")), out: &Reading{}}
	l.header()
	scale := 1.0
	if l.headUnits == "in" {
		scale = mmPerInch
	}
	var out []Pair
	var bad *diag.Error
	// Decimal commas are known by the fields being parted otherwise.
	comma := bytes.IndexByte(b, '.') < 0 && (bytes.IndexByte(b, ';') >= 0 || bytes.IndexByte(b, '\t') >= 0)
	l.each(func(n int, line []byte, _ bool) {
		s := scanner{comma: comma}
		s.line(line)
		if bad != nil || len(s.tokens) == 0 || len(bytes.TrimSpace(line)) == 0 {
			return
		}
		if len(s.tokens) != 4 {
			bad = l.fail(n, fmt.Sprintf("%s, a pair has four: x and y of the surface, x and y of the program", phrase.Count(len(s.tokens), "number")), "")
			return
		}
		p := Pair{Line: n}
		for k := range 2 {
			p.From[k], p.To[k] = s.tokens[k].v*scale, s.tokens[2+k].v*scale
			if !(math.Abs(p.From[k]) <= surface.MaxCoordMM && math.Abs(p.To[k]) <= surface.MaxCoordMM) {
				bad = l.fail(n, fmt.Sprintf("a number is beyond any bench (%g mm)", surface.MaxCoordMM), "")
				return
			}
		}
		out = append(out, p)
	})
	if bad != nil {
		return nil, bad
	}
	if len(out) == 0 {
		return nil, l.fail(1, "no pair of points", "a pair is a line with four numbers: x and y of the surface, x and y of the program")
	}
	return out, nil
}
