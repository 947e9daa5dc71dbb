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
		if !f.is(t, other) {
			if f = formOf(t, other); f.size == 0 {
				break
			}
		}
		t = f.digits(t)
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
		if !x.is(t, other) {
			x = formOf(t, other)
		}
		i += int(x.size)
		if !x.open || line[(i+1)&(reach-1)] != 'Y' {
			break
		}
		t = x.digits(t)
		i += 2
		minusY := line[i&(reach-1)] == '-'
		if minusY {
			i++
		}
		u, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
		if !y.is(u, other) {
			y = formOf(u, other)
		}
		if y.size == 0 || y.open {
			break
		}
		i += int(y.size)
		u = y.digits(u)
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

// bends is scan for arcs: G2 X12.345 Y67.890 I1.234 J5.678.
func (p *plainScanner) bends(text []byte, whole int, at int32, dst []PlainLine) (n, used int) {
	const begin, letters = len("G2 "), "XYIJ"
	for n < len(dst) && used < whole {
		line := (*[reach]byte)(text[used:])
		has := PlainX | PlainY | PlainI | PlainJ
		switch {
		case line[0] != 'G' || line[2] != ' ':
			return n, used
		case line[1] == '2':
			has |= PlainG2
		case line[1] == '3':
			has |= PlainG3
		default:
			return n, used
		}
		var mant [len(letters)]int32
		i, axis, most, filled := begin, 0, PlainStyle(0), false
		for w := range mant {
			if line[i&(reach-1)] != letters[w] {
				return n, used
			}
			i++
			// The signs of I and J are those of chance, so there is no branch.
			minus := 0
			if line[i&(reach-1)] == '-' {
				minus = 1
			}
			i += minus
			t, other := digits8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
			f := &p.formsArc[w]
			if !f.is(t, other) {
				*f = formOf(t, other)
			}
			if f.size == 0 || f.open == (w == len(mant)-1) {
				return n, used
			}
			t = f.digits(t)
			mant[w] = int32((int(sum8(t)) ^ -minus) + minus)
			most = max(most, f.filled)
			filled = filled || f.filled > 0 && t>>56 == 0
			i += int(f.size) + 1
			if w == 1 {
				axis = i - 1
			}
		}
		l, f := &dst[n], &p.formsArc
		l.X, l.Y, l.I, l.J = mant[0], mant[1], mant[2], mant[3]
		l.DecX, l.DecY, l.DecI, l.DecJ = f[0].dec, f[1].dec, f[2].dec, f[3].dec
		l.Style = 0
		if filled {
			l.Style = most
		}
		used += i
		l.Has, l.Axis, l.End = has, uint8(axis), at+int32(used)
		n++
		p.habit.tight, p.habit.crlf, p.habit.lower = false, false, false
	}
	return n, used
}
