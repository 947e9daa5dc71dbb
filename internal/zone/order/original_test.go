package order

import (
	"fmt"
	"testing"
)

// What must be last is burned last of all, in a visit of its own only where it
// cannot be helped.
func TestKept(t *testing.T) {
	for _, c := range []struct {
		zones []int // of pieces in the original's order, -1-zone where it must be last
		want  string
	}{
		{[]int{0, 1, 0, 1}, "[{1 [{1 false} {3 false}]} {0 [{0 false} {2 false}]}]"},
		{[]int{0, 1, 0, -2}, "[{0 [{0 false} {2 false}]} {1 [{1 false} {3 false}]}]"},
		{[]int{0, 1, -2, -1}, "[{0 [{0 false}]} {1 [{1 false} {2 false}]} {0 [{3 false}]}]"},
		{[]int{-1}, "[{0 [{0 false}]}]"},
		{nil, "[]"},
	} {
		j := New(Options{Rank: []int{1, 0}, Lens: []int{0, 0}})
		for i, z := range c.zones {
			j.Piece(max(z, -1-z), i, false)
			if z < 0 {
				j.MustBeLast()
			}
		}
		if got := fmt.Sprint(j.Kept("").Visits); got != c.want {
			t.Errorf("%v: %s, want %s", c.zones, got, c.want)
		}
	}
}
