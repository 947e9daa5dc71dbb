package program

import "math/bits"

// form is how a number and its end are written: where its digits are, its
// point, and the blank or LF behind it. The numbers of a row mostly have the
// one before's, and a reader that only checks so need not wait to know where a
// number ends before it goes on.
type form struct {
	// mask are the top bits of the bytes up to the end, chars the bytes that
	// are no digits: with them other&mask ^ t&chars is want, see digits8.
	mask, chars, want uint64
	// whole are the bits of the digits before the point, and shift brings
	// the last digit to the top.
	whole       uint64
	shift, size uint8
	dec         int8
	// filled is the style of a number that ends in zero.
	filled PlainStyle
	// open: a blank ends the number.
	open bool
}

// noForm is the form of no number.
var noForm = form{want: 1}

// formOf gives the form of the number that eight bytes begin with, as digits8
// has them. Its size is 0 where number8's is, or another byte ends it; no number
// has that form.
func formOf(t, other uint64) form {
	p := bits.TrailingZeros64(other)
	end, f := p, form{whole: ^uint64(0)}
	if uint8(t>>((p-7)&63)) == '.'^'0' {
		end = bits.TrailingZeros64(other & (other - 1))
		if p < 8 || end-p <= 8 {
			return noForm
		}
		f.whole = uint64(1)<<((p-7)&63) - 1
		f.chars = 0xff << ((p - 7) & 63)
		f.dec = int8((end-p)>>3) - 1
		f.filled = PlainStyle(f.dec)
		p = end - 8
	}
	last := uint8(t>>((end-7)&63)) ^ '0'
	if end >= 64 || p < 8 || last != ' ' && last != '\n' {
		return noForm
	}
	f.mask, f.chars = ^uint64(0)>>((63-end)&63)&tops, f.chars|0xff<<((end-7)&63)
	f.want = other&f.mask ^ t&f.chars
	f.shift, f.size, f.open = uint8(71-p)&63, uint8(end>>3), last == ' '
	return f
}

// is tells that a number as digits8 has it is written so.
func (f *form) is(t, other uint64) bool { return other&f.mask^t&f.chars == f.want }

// digits gives the digits alone, the last at the top: what sum8 wants.
func (f *form) digits(t uint64) uint64 { return (t&f.whole | t>>8&^f.whole) << (f.shift & 63) }
