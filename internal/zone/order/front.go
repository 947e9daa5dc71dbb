package order

import "slices"

// front is what may be burned next while units are burned one behind the other.
type front struct {
	g     *graph
	units int
	waits []int32
	free  func(unit int32)
}

func newFront(t *trip, free func(unit int32)) *front {
	first := t.g.waits()
	f := &front{g: t.g, units: len(t.units), waits: slices.Clone(first), free: free}
	for n, w := range first {
		if w == 0 {
			f.reach(int32(n))
		}
	}
	return f
}

// reach passes a node that waits for nothing, or has it free if it is a unit.
func (f *front) reach(n int32) {
	if int(n) < f.units {
		f.free(n)
		return
	}
	f.done(n)
}

func (f *front) done(n int32) {
	for _, to := range f.g.after(n) {
		if f.waits[to]--; f.waits[to] == 0 {
			f.reach(to)
		}
	}
}

// heap has the least of its numbers first.
type heap []int32

func (h *heap) push(x int32) {
	a := append(*h, x)
	i := len(a) - 1
	for i > 0 && a[(i-1)/2] > a[i] {
		a[i], a[(i-1)/2] = a[(i-1)/2], a[i]
		i = (i - 1) / 2
	}
	*h = a
}

func (h *heap) pop() int32 {
	a := *h
	least, n := a[0], len(a)-1
	a[0] = a[n]
	a = a[:n]
	for i := 0; ; {
		k := 2*i + 1
		if k+1 < n && a[k+1] < a[k] {
			k++
		}
		if k >= n || a[i] <= a[k] {
			break
		}
		a[i], a[k] = a[k], a[i]
		i = k
	}
	*h = a
	return least
}
