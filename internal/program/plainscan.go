package program

import (
	"encoding/binary"
	"math/bits"
)

// A numberWidth is how many bytes are looked at for one number, and must be
// readable behind any.
const numberWidth = 8

// alphabet is the number of letters, rounded up to a power of two.
const alphabet = 32

// plainScanner reads a run of plain lines.
type plainScanner struct {
	habit habit
	power byte
	// action is what each letter is.
	action [alphabet]uint8
}

// What a letter is.
const (
	wordNone = iota
	wordX
	wordY
	wordG
	wordF
	wordS
	wordI
	wordJ
)

// set prepares the scanner. It reports false where the power word has the
// letter of another.
func (p *plainScanner) set(power byte) bool {
	p.action = [alphabet]uint8{'X' - 'A': wordX, 'Y' - 'A': wordY, 'G' - 'A': wordG, 'F' - 'A': wordF,
		'I' - 'A': wordI, 'J' - 'A': wordJ}
	if power < 'A' || power > 'Z' || p.action[power-'A'] != wordNone || rank(power) != rankOther {
		return false
	}
	p.power = power
	p.action[power-'A'] = wordS
	return true
}

// scan reads plain lines from text[:whole], which ends in LF and has
// numberWidth bytes behind it. It returns how many there are and their bytes.
func (p *plainScanner) scan(text []byte, whole int, dst []PlainLine) (n, used int) {
	for n < len(dst) && used < whole {
		rest := text[used:]
		size := 0
		switch c := rest[0]; {
		case c == 'X' || c == 'Y':
			k, width := p.pixels(rest, whole-used, int32(used), dst[n:])
			if n, used = n+k, used+width; k > 0 {
				continue
			}
		case c == 'G' && rest[1] == '1' && rest[2] == ' ':
			size = p.straight(rest, &dst[n])
		}
		if size == 0 {
			if size = p.line(rest, &dst[n]); size == 0 {
				break
			}
		}
		used += size
		dst[n].End = int32(used)
		n++
	}
	return n, used
}

// straight is line for the lines that curves have most: G1 X12.345 Y67.890.
func (p *plainScanner) straight(text []byte, l *PlainLine) int {
	const x = 3 // behind "G1 "
	if text[x] != 'X' {
		return 0
	}
	i := x + 1
	minus := text[i] == '-'
	if minus {
		i++
	}
	mant, dec, size := number8(binary.LittleEndian.Uint64(text[i : i+numberWidth]))
	i += size
	if size == 0 || text[i] != ' ' || text[i+1] != 'Y' {
		return 0
	}
	if minus {
		mant = -mant
	}
	l.X, l.DecX = int32(mant), dec
	zero := dec > 0 && text[i-1] == '0'
	i += 2
	if minus = text[i] == '-'; minus {
		i++
	}
	mant, dec, size = number8(binary.LittleEndian.Uint64(text[i : i+numberWidth]))
	i += size
	if size == 0 || text[i] != '\n' {
		return 0
	}
	if minus {
		mant = -mant
	}
	l.Y, l.DecY = int32(mant), dec
	l.Has, l.Axis, l.Style = PlainG1|PlainX|PlainY, uint8(i), 0
	if zero || dec > 0 && text[i-1] == '0' {
		l.Style = PlainStyle(max(l.DecX, dec))
	}
	p.habit.tight, p.habit.crlf, p.habit.lower = false, false, false
	return i + 1
}

// The lowest and the top bit of each of eight bytes.
const ones, tops = 0x0101010101010101, 0x8080808080808080

// pixels is scan for the lines that rasters have most, an axis and perhaps the
// power: X12.3 S456. The text lies at in that by which the ends of lines count.
func (p *plainScanner) pixels(text []byte, whole int, at int32, dst []PlainLine) (n, used int) {
	tight := p.habit.tight
	for n < len(dst) && used < whole {
		l, line := &dst[n], text[used:]
		c, i := line[0], 1
		if c != 'X' && c != 'Y' {
			break
		}
		minus := line[1] == '-'
		if minus {
			i = 2
		}
		mant, dec, size := number8(binary.LittleEndian.Uint64(line[i : i+numberWidth]))
		if size == 0 {
			break
		}
		i += size
		if minus {
			mant = -mant
		}
		has, axis, style := PlainX, uint8(i), PlainStyle(0)
		if dec > 0 && line[i-1] == '0' {
			style = PlainStyle(dec)
		}
		if line[i] == '\n' {
			if tight {
				style |= plainTight
			}
		} else if line[i] == ' ' && line[i+1] == p.power {
			i += 2
			t := binary.LittleEndian.Uint64(line[i : i+numberWidth])
			power, decimals, size := whole8(t)
			if size == 0 || line[i+size] == '.' {
				if power, decimals, size = number8(t); size == 0 {
					break
				}
			}
			i += size
			if line[i] != '\n' {
				break
			}
			l.S, l.DecS, has, tight = int32(power), decimals, PlainX|PlainS, false
		} else {
			break
		}
		if c == 'X' {
			l.X, l.DecX = int32(mant), dec
		} else {
			l.Y, l.DecY = int32(mant), dec
			has += PlainY - PlainX
		}
		used += i + 1
		l.Has, l.Axis, l.Style, l.End = has, axis, style, at+int32(used)
		n++
	}
	if n > 0 {
		p.habit.tight, p.habit.crlf, p.habit.lower = tight, false, false
	}
	return n, used
}

// line reads one plain line at the beginning of text, and fills all of l but
// End. It returns the line's length, or 0 where it is for the general path.
func (p *plainScanner) line(text []byte, l *PlainLine) int {
	var (
		has    PlainWords
		style  PlainStyle
		filled int8 // decimals of coordinates if one of them ends in zero
		most   int8 // decimals of coordinates
		words  int
		i, end int  // end is that of the last word
		letter byte // of it
		open   bool // the first two words touch
	)
	for {
		c := text[i]
		if c == ' ' {
			i++
			continue
		}
		if c < ' ' {
			break
		}
		k := c&^0x20 - 'A'
		if k >= alphabet {
			return 0
		}
		if i == end && words > 0 {
			style |= plainTight
			open = open || words == 1
		}
		words++
		letter = c
		i++
		negative := text[i] == '-'
		if negative {
			i++
		}
		mant, dec, size := number8(binary.LittleEndian.Uint64(text[i : i+numberWidth]))
		if size == 0 {
			if mant, dec, size = longNumber(text[i:]); size == 0 {
				return 0
			}
		}
		i += size
		end = i
		if negative {
			mant = -mant
		}
		var word PlainWords
		switch p.action[k] {
		case wordX:
			word = PlainX
			l.X, l.DecX = int32(mant), dec
		case wordY:
			word = PlainY
			l.Y, l.DecY = int32(mant), dec
		case wordI:
			word = PlainI
			l.I, l.DecI = int32(mant), dec
		case wordJ:
			word = PlainJ
			l.J, l.DecJ = int32(mant), dec
		case wordS:
			if has&PlainS != 0 || negative {
				return 0
			}
			has |= PlainS
			l.S, l.DecS = int32(mant), dec
			continue
		case wordG:
			if has&plainG != 0 || mant < 1 || mant > 3 || dec != 0 {
				return 0
			}
			has |= [...]PlainWords{1: PlainG1, PlainG2, PlainG3}[mant]
			continue
		case wordF:
			if has&PlainF != 0 || negative {
				return 0
			}
			has |= PlainF
			l.F, l.DecF = int32(mant), dec
			continue
		default:
			return 0
		}
		if has&word != 0 {
			return 0
		}
		has |= word
		if dec > 0 {
			most = max(most, dec)
			if filled > 0 || text[i-1] == '0' {
				filled = most
			}
		}
		if word&plainCentre != 0 {
			continue
		}
		l.Axis = uint8(i)
		style = style&^plainLower | PlainStyle(c)&plainLower
	}
	crlf := text[i] == '\r'
	if crlf {
		i++
	}
	if text[i] != '\n' || has&(PlainX|PlainY) == 0 || i >= maxPlainLine {
		return 0
	}
	if words > 1 {
		p.habit.tight = open
	} else if p.habit.tight {
		style |= plainTight
	}
	p.habit.crlf, p.habit.lower = crlf, letter >= 'a'
	l.Has, l.Style = has, style|PlainStyle(filled)
	return i + 1
}

// number8 reads a number without sign in eight bytes of text, without a branch
// for each digit: digits, or digits, a point and digits. size is 0 where it
// is none, or does not end within them. The sign is left to its callers: here,
// where it moves the bytes that are looked at, it costs half as much again.
func number8(text uint64) (mant int64, dec int8, size int) {
	t := text ^ '0'*ones
	// In other is the top bit of each byte that is no digit: 0x76 carries 10
	// and above into it, and so does the byte's own.
	other := ((t&^tops + 0x76*ones) | t) & tops
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

// whole8 is number8 for digits alone, and takes those before a point.
func whole8(text uint64) (mant int64, dec int8, size int) {
	t := text ^ '0'*ones
	p := bits.TrailingZeros64(((t&^tops + 0x76*ones) | t) & tops)
	if p >= 64 || p < 8 {
		return 0, 0, 0
	}
	return sum8(t << ((71 - p) & 63)), 0, p >> 3
}

// sum8 is the number of eight digits, the first in the lowest byte: pairs,
// fours and all eight are summed at once.
func sum8(t uint64) int64 {
	t = t*10 + t>>8
	t = ((t&0x000000ff000000ff)*(100+1000000<<32) + (t>>16&0x000000ff000000ff)*(1+10000<<32)) >> 32
	return int64(t)
}

// longNumber reads a number of up to eight digits without sign: digits, or
// digits, a point and digits. width is 0 where it is none. text ends in LF
// before its last numberWidth bytes.
func longNumber(text []byte) (mant int64, dec int8, width int) {
	i, digits, point := 0, 0, -1
	for ; ; i++ {
		switch d := text[i] - '0'; {
		case d <= 9 && digits < 8:
			mant = mant*10 + int64(d)
			digits++
		case text[i] == '.' && point < 0 && i > 0:
			point = i
		default:
			if d <= 9 || point == i-1 || digits == 0 {
				return 0, 0, 0
			}
			if point >= 0 {
				dec = int8(i - point - 1)
			}
			return mant, dec, i
		}
	}
}
