package set

// burned are the burns of the original that were found, as far as it takes to tell
// those that are left from like ones: each whole, at its begin, or to its end.
type burned struct{ whole, begun, ended bits }

// bits is a bit for each burn.
type bits []uint64

func (b bits) has(n int32) bool { return b[n/64]>>(n%64)&1 != 0 }
func (b bits) set(n int32)      { b[n/64] |= 1 << (n % 64) }

func newBurned(n int32) burned {
	of := func() bits { return make(bits, n/64+1) }
	return burned{of(), of(), of()}
}

// has reports whether the part l of burn n was found before.
func (b *burned) has(n int32, l lies) bool {
	switch {
	case l.from == 0 && b.begun.has(n), l.ends && b.ended.has(n):
		return true
	}
	return b.whole.has(n)
}

// take takes a part, and reports whether it is the whole burn.
func (b *burned) take(n int32, l lies) bool {
	if l.from == 0 {
		b.begun.set(n)
	}
	if l.ends {
		b.ended.set(n)
	}
	if l.from == 0 && l.ends && !b.whole.has(n) {
		b.whole.set(n)
		return true
	}
	return false
}
