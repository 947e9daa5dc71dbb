package program

import (
	"encoding/binary"
	"math/bits"
)

// pixels is scan for the lines that rasters have most, an axis and perhaps the
// power: X12.3 S456. The text lies at in that by which the ends of lines count.
func (p *plainScanner) pixels(text []byte, whole int, at int32, dst []PlainLine) (n, used int) {
	tight, power, f := p.habit.tight, p.power, p.form
	for n < len(dst) && used < whole {
		line := (*[reach]byte)(text[used:])
		c, i := line[0], 1
		if c != 'X' && c != 'Y' {
			break
		}
		minus := line[1] == '-'
		if minus {
			i = 2
		}
		t, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
		if other&f.mask^t&f.chars != f.want {
			if f = formOf(t, other); f.size == 0 {
				break
			}
		}
		t = (t&f.whole | t>>8&^f.whole) << (f.shift & 63)
		mant := sum8(t)
		if minus {
			mant = -mant
		}
		l, has, style := &dst[n], PlainX, PlainStyle(0)
		if t>>56 == 0 { // the last digit
			style = f.filled
		}
		i += int(f.size)
		axis := uint8(i)
		if f.open {
			if line[(i+1)&(reach-1)] != power {
				break
			}
			i += 2
			t, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
			bit := bits.TrailingZeros64(other)
			value, decimals, size := sum8(t<<((71-bit)&63)), int8(0), bit>>3
			if bit < 8 || bit >= 64 || line[(i+size)&(reach-1)] != '\n' {
				value, decimals, size = number8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
				if size == 0 || line[(i+size)&(reach-1)] != '\n' {
					break
				}
			}
			i += size
			l.S, l.DecS, has, tight = int32(value), decimals, PlainX|PlainS, false
		} else if tight {
			style |= plainTight
		}
		if c == 'X' {
			l.X, l.DecX = int32(mant), f.dec
		} else {
			l.Y, l.DecY = int32(mant), f.dec
			has += PlainY - PlainX
		}
		used += i + 1
		l.Has, l.Axis, l.Style, l.End = has, axis, style, at+int32(used)
		n++
	}
	if n > 0 {
		p.habit.tight, p.habit.crlf, p.habit.lower = tight, false, false
	}
	p.form = f
	return n, used
}

// straights is scan for the lines that curves have most: G1 X12.345 Y67.890.
func (p *plainScanner) straights(text []byte, whole int, at int32, dst []PlainLine) (n, used int) {
	const begin = len("G1 X")
	x, y := p.formX, p.formY
	for n < len(dst) && used < whole {
		line := (*[reach]byte)(text[used:])
		if binary.LittleEndian.Uint32(line[:]) != 'G'|'1'<<8|' '<<16|'X'<<24 {
			break
		}
		i, minusX := begin, line[begin] == '-'
		if minusX {
			i = begin + 1
		}
		t, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
		if other&x.mask^t&x.chars != x.want {
			x = formOf(t, other)
		}
		i += int(x.size)
		if !x.open || line[(i+1)&(reach-1)] != 'Y' {
			break
		}
		t = (t&x.whole | t>>8&^x.whole) << (x.shift & 63)
		i += 2
		minusY := line[i&(reach-1)] == '-'
		if minusY {
			i++
		}
		u, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
		if other&y.mask^u&y.chars != y.want {
			y = formOf(u, other)
		}
		if y.size == 0 || y.open {
			break
		}
		i += int(y.size)
		u = (u&y.whole | u>>8&^y.whole) << (y.shift & 63)
		l := &dst[n]
		l.X, l.DecX, l.Y, l.DecY = int32(sum8(t)), x.dec, int32(sum8(u)), y.dec
		if minusX {
			l.X = -l.X
		}
		if minusY {
			l.Y = -l.Y
		}
		// One that ends in zero fills both up to the longer.
		l.Style = 0
		if x.filled > 0 && t>>56 == 0 || y.filled > 0 && u>>56 == 0 {
			l.Style = max(x.filled, y.filled)
		}
		used += i + 1
		l.Has, l.Axis, l.End = PlainG1|PlainX|PlainY, uint8(i), at+int32(used)
		n++
	}
	if n > 0 {
		p.habit.tight, p.habit.crlf, p.habit.lower = false, false, false
	}
	p.formX, p.formY = x, y
	return n, used
}

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
