package touch

import (
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// repeatedLeast touches at two heights or more are not found again in another round by
// chance, each in its turn and to the last decimal.
const repeatedLeast = 3

// withoutRepeated gives the parts with those touches taken out of a later file that it has
// from an earlier one: somebody who goes on writing in a copy of the first file gives the
// same touches twice, and they are no repeats. Files that have nothing else are refused.
func withoutRepeated(parts []Part) ([]Part, error) {
	parts = slices.Clone(parts)
	for k := range parts {
		for j := range parts[:k] {
			earlier, p := parts[j].Points, &parts[k]
			if parts[j].Grid != nil || p.Grid != nil {
				continue
			}
			at := inTurn(earlier, p.Points)
			if at == nil {
				if inTurn(p.Points, earlier) == nil {
					continue
				}
				return nil, nothingNew(p, &parts[j])
			}
			if len(at) == len(p.Points) {
				return nil, nothingNew(p, &parts[j])
			}
			rest := *p.Reading
			rest.Points = nil
			for i, q := range p.Points {
				if len(at) > 0 && at[0] == i {
					at = at[1:]
					continue
				}
				rest.Points = append(rest.Points, q)
			}
			p.Reading, p.RepeatedFrom, p.Repeated = &rest, parts[j].Name, p.Repeated+len(p.Points)-len(rest.Points)
		}
	}
	return parts, nil
}

// inTurn finds all of some touches among others, in their order; nil where they are not
// there, or too few or too much alike to tell.
func inTurn(some, among []surface.Point) (at []int) {
	if len(some) < repeatedLeast || len(some) > len(among) {
		return nil
	}
	if !slices.ContainsFunc(some, func(p surface.Point) bool { return p.Z != some[0].Z }) {
		return nil
	}
	for k, p := range among {
		if q := some[len(at)]; p.X == q.X && p.Y == q.Y && p.Z == q.Z {
			if at = append(at, k); len(at) == len(some) {
				return at
			}
		}
	}
	return nil
}

func nothingNew(p, of *Part) error {
	return &diag.Error{Place: diag.Place{File: p.Name, Line: 1, Col: 1},
		What: "all its touches are in " + phrase.Printable(of.Name) + " too: the same touches twice are no repeats",
		Hint: "give each round of touches once"}
}
