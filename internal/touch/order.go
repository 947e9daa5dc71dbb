package touch

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/phrase"
)

const (
	// latticePart is the part of a lattice that places must fill for their
	// columns to count as x and y: a probing skips some, but not half.
	latticePart = 0.6
	// latticeScore, thirdScore and spreadScore weigh what speaks for a
	// column being the height; clearLead is what the best must be ahead by.
	// Stock is wider than it is high: each halving of the spread against
	// the narrower of the two others counts one, up to three. A lattice of
	// places counts two, and being written last, as nearly everyone does,
	// one.
	latticeScore = 2
	thirdScore   = 1
	spreadScore  = 3
	clearLead    = 1.5
)

// order finds the columns of x, y and z where nothing names them, as in Options.
// Flags and counters are dropped first. Where a probe's flag, in the last column if
// flagged, is 0 the touch failed: the lines that are kept are those of the others.
func (l *log) order(cols [][]float64, flagged bool, lines []int) (columns string, kept []int, err error) {
	var keep []int
	for k := range cols {
		keep = append(keep, k)
	}
	first := lines[0]
	if last := len(cols) - 1; last > 2 && flagged {
		lines = l.touched(cols, last, lines)
		keep = keep[:last]
	}
	if len(lines) == 0 {
		return "", nil, l.fail(first, "no touch succeeded: the flag behind each is 0", "")
	}
	for _, drop := range []func([]float64) bool{counts, constant} {
		spare := len(keep) - 3
		keep = slices.DeleteFunc(keep, func(k int) bool {
			if spare <= 0 || !drop(cols[k]) {
				return false
			}
			spare--
			return true
		})
	}
	if len(keep) != 3 {
		return "", nil, l.fail(lines[0], fmt.Sprintf("%d numbers in a line: it is not clear which are x, y and the height", len(cols)),
			"say so with --columns, a letter for each number and - for one that does not count, as in --columns -xyz")
	}
	c := [3][]float64{cols[keep[0]], cols[keep[1]], cols[keep[2]]}
	if constant(c[0]) && constant(c[1]) && constant(c[2]) {
		return "", nil, l.fail(lines[0], fmt.Sprintf("all %s are the same: one place is no surface", phrase.Count(len(lines), "line")), "")
	}
	z, second, lead := heightColumn(c)
	if lead < clearLead {
		a, b := keep[min(z, second)]+1, keep[max(z, second)]+1
		return "", nil, l.fail(lines[0], fmt.Sprintf("number %d or number %d of a line may be the height: both readings are equally good", a, b),
			"say so with --columns, as in --columns xyz")
	}
	letters := bytes.Repeat([]byte("-"), len(cols))
	letters[keep[z]] = 'z'
	keep = slices.Delete(keep, z, z+1)
	letters[keep[0]], letters[keep[1]] = 'x', 'y'
	return string(letters), lines, nil
}

// touched drops the touches whose flag is 0.
func (l *log) touched(cols [][]float64, flag int, lines []int) (kept []int) {
	for k, line := range lines {
		if cols[flag][k] == 0 {
			l.out.ignore(line, "the touch failed: its flag is 0")
			continue
		}
		for c := range cols {
			cols[c][len(kept)] = cols[c][k]
		}
		kept = append(kept, line)
	}
	for c := range cols {
		cols[c] = cols[c][:len(kept)]
	}
	return kept
}

// counts reports whether v is a counter: whole numbers that go up by one.
func counts(v []float64) bool {
	for k := range v {
		if v[k] != math.Trunc(v[k]) || k > 0 && v[k] != v[k-1]+1 {
			return false
		}
	}
	return len(v) > 1
}

func constant(v []float64) bool { return slices.Min(v) == slices.Max(v) }

// heightColumn scores the columns for being the height.
func heightColumn(c [3][]float64) (best, second int, lead float64) {
	var spread [3]float64
	for k := range c {
		spread[k] = slices.Max(c[k]) - slices.Min(c[k])
	}
	var score [3]float64
	for k := range c {
		a, b := (k+1)%3, (k+2)%3
		narrow := math.Min(spread[a], spread[b])
		switch {
		case spread[k] == 0 && narrow > 0:
			score[k] += spreadScore
		case narrow == 0:
			score[k] -= spreadScore
		default:
			score[k] += min(max(math.Log2(narrow/spread[k]), -spreadScore), spreadScore)
		}
		if lattice(c[a], c[b]) {
			score[k] += latticeScore
		}
	}
	score[2] += thirdScore
	order := []int{0, 1, 2}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(score[b], score[a]) })
	return order[0], order[1], score[order[0]] - score[order[1]]
}

// lattice reports whether places a, b fill a lattice, few of them twice.
func lattice(a, b []float64) bool {
	distinct := func(v []float64) int { return len(slices.Compact(slices.Sorted(slices.Values(v)))) }
	na, nb := distinct(a), distinct(b)
	if na < 2 || nb < 2 || float64(na)*float64(nb)*latticePart > float64(len(a)) {
		return false
	}
	places := make(map[[2]float64]struct{}, len(a))
	for k := range a {
		places[[2]float64{a[k], b[k]}] = struct{}{}
	}
	n := float64(len(places))
	return n >= latticePart*float64(na)*float64(nb) && n >= latticePart*float64(len(a))
}
