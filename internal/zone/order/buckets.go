package order

// buckets hold numbers by the cells of a grid that they lie in; cells that share
// a bucket are not told apart. Those of a bucket stand in the order in which they
// were put in.
type buckets struct {
	mask  uint32
	start []int32
	items []int32
}

// fill makes buckets of what each gives: it is called twice and puts the same
// both times.
func fill(cells int, each func(put func(hash uint32, item int32))) buckets {
	size := 64
	for size < cells/2 {
		size *= 2
	}
	b := buckets{mask: uint32(size - 1), start: make([]int32, size+1)}
	each(func(hash uint32, _ int32) { b.start[hash&b.mask+1]++ })
	// Where a bucket ends is at first where it begins, and moves as it is filled.
	var sum int32
	for i, n := range b.start {
		b.start[i] = sum
		sum += n
	}
	b.items = make([]int32, sum)
	each(func(hash uint32, item int32) {
		end := &b.start[hash&b.mask+1]
		b.items[*end] = item
		*end++
	})
	return b
}

// in are the items of a bucket.
func (b *buckets) in(hash uint32) []int32 {
	k := hash & b.mask
	return b.items[b.start[k]:b.start[k+1]]
}

// cell is the hash of a cell of a grid.
func cell(col, row int32) uint32 {
	h := uint32(col)*0x9e3779b1 ^ uint32(row)*0x85ebca77
	h ^= h >> 15
	h *= 0xc2b2ae35
	return h ^ h>>13
}
