package touch

import (
	"fmt"
	"io"
	"math"

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
	l, err := newLog(r, name, Options{})
	if err != nil {
		return nil, err
	}
	scale := l.header.Said.UnitMM()
	s := tokenizer{comma: l.commasOnly()}
	var out []Pair
	for n, text := range l.lines() {
		s.line(text)
		if len(s.tokens) == 0 {
			continue
		}
		if len(s.tokens) != 4 {
			return nil, l.fail(n, fmt.Sprintf("%s, a pair has four: x and y of the surface, x and y of the program", phrase.Count(len(s.tokens), "number")), "")
		}
		var v [4]float64
		for k, t := range s.tokens {
			if v[k] = t.v * scale; !(math.Abs(v[k]) <= surface.MaxCoordMM) {
				return nil, l.fail(n, fmt.Sprintf("a number is beyond any bench (%g mm)", surface.MaxCoordMM), "")
			}
		}
		out = append(out, Pair{From: [2]float64{v[0], v[1]}, To: [2]float64{v[2], v[3]}, Line: n})
	}
	if len(out) == 0 {
		return nil, l.fail(1, "no pair of points", "a pair is a line with four numbers: x and y of the surface, x and y of the program")
	}
	return out, nil
}
