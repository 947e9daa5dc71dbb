package order

import (
	"cmp"
	"slices"
)

// Kept is the order that sets each zone once, in the default order, and has its
// pieces as the original has them; why goes into the result.
func (j *Job) Kept(why string) Result {
	count := make([]int, len(j.opt.Rank))
	first := -1 // the zone of the first of those that must be last
	for _, p := range j.pieces {
		switch {
		case !p.last:
			count[p.zone]++
		case first < 0:
			first = int(p.zone)
		}
	}
	var zones []int
	for zone, n := range count {
		if n > 0 {
			zones = append(zones, zone)
		}
	}
	late := func(zone int) int {
		if zone == first {
			return 1
		}
		return 0
	}
	slices.SortFunc(zones, func(a, b int) int {
		return cmp.Or(cmp.Compare(late(a), late(b)), cmp.Compare(j.opt.Rank[a], j.opt.Rank[b]))
	})
	r := Result{Original: why, Visits: make([]Visit, len(zones))}
	place := make([]int, len(count))
	for i, zone := range zones {
		place[zone] = i
		r.Visits[i] = Visit{Zone: zone, Steps: make([]Step, 0, count[zone])}
	}
	for i, p := range j.pieces {
		if !p.last {
			v := &r.Visits[place[p.zone]]
			v.Steps = append(v.Steps, Step{Piece: i})
		}
	}
	for i, p := range j.pieces {
		if p.last {
			r.then(int(p.zone), Step{Piece: i})
		}
	}
	return r
}

// then burns one step more, in the visit under way if that is its zone's.
func (r *Result) then(zone int, s Step) {
	if n := len(r.Visits); n == 0 || r.Visits[n-1].Zone != zone {
		r.Visits = append(r.Visits, Visit{Zone: zone})
	}
	v := &r.Visits[len(r.Visits)-1]
	v.Steps = append(v.Steps, s)
}
