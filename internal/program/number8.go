package program

import "math/bits"

// numberWidth is how many bytes are looked at for one number.
const numberWidth = 8

// The lowest and the top bit of each of eight bytes.
const ones, tops = 0x0101010101010101, 0x8080808080808080

// number8 reads a number without sign in eight bytes of text, without a branch
// for each digit: digits, or digits, a point and digits. size is 0 where it
// is none, or does not end within them. The sign is left to its callers: here,
// where it moves the bytes that are looked at, it costs half as much again.
func number8(text uint64) (mant int64, dec int8, size int) {
	t, other := digits8(text)
	p := bits.TrailingZeros64(other) // 8*digits + 7
	end := p
	if uint8(t>>((p-7)&63)) == '.'^'0' {
		end = bits.TrailingZeros64(other & (other - 1))
		if p < 8 || end-p <= 8 {
			return 0, 0, 0 // ".5" and "5." are left to the general path
		}
		whole := uint64(1)<<((p-7)&63) - 1
		t = t&whole | t>>8&^whole // close the gap of the point
		dec = int8((end-p)>>3) - 1
		p = end - 8
	}
	if end >= 64 || p < 8 {
		return 0, 0, 0
	}
	// The digits go to the upper end, zeros before them.
	return sum8(t << ((71 - p) & 63)), dec, end >> 3
}

// digits8 gives the value of each digit of eight bytes, and the top bit of each
// byte that is none.
func digits8(text uint64) (t, other uint64) {
	t = text ^ '0'*ones
	// 0x76 carries 10 and above into it, and so does the byte's own.
	return t, ((t&^tops + 0x76*ones) | t) & tops
}

// sum8 is the number of eight digits, the first in the lowest byte: pairs,
// fours and all eight are summed at once.
func sum8(t uint64) int64 {
	t = t*10 + t>>8
	t = ((t&0x000000ff000000ff)*(100+1000000<<32) + (t>>16&0x000000ff000000ff)*(1+10000<<32)) >> 32
	return int64(t)
}
