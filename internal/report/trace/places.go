package trace

import (
	"cmp"
	"slices"
)

const (
	// mostPlaces is how many of the worst are told, and apart how far in parts of all time
	// they are from each other at least.
	mostPlaces = 10
	apart      = 1.0 / 50
)

// worst gives the worst places, of each stretch one at most, apart from each other.
func (k *Keeper) worst() (list []Place) {
	order := make([]*piece, 0, len(k.stretches.list))
	for i := range k.stretches.list {
		if p := &k.stretches.list[i]; p.worst.part >= 0 {
			order = append(order, p)
		}
	}
	slices.SortStableFunc(order, func(a, b *piece) int { return cmp.Compare(b.worst.part, a.worst.part) })
	for _, p := range order {
		w := &p.worst
		if len(list) == mostPlaces {
			break
		}
		if slices.ContainsFunc(list, func(l Place) bool { return max(l.Seconds-w.second, w.second-l.Seconds) < k.seconds*apart }) {
			continue
		}
		list = append(list, Place{Program: p.Program, Line: w.line, OriginalLine: w.original, At: w.at,
			Defocus: w.defocus, Depth: w.side - w.less, Height: w.height, Seconds: w.second, Text: printable(p.text[:p.chars])})
	}
	return list
}
