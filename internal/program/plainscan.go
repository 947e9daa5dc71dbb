package program

import "encoding/binary"

// reach is how many bytes behind a line may be looked at.
const reach = 64

// alphabet is the number of letters, rounded up to a power of two.
const alphabet = 32

// plainScanner reads a run of plain lines.
type plainScanner struct {
	habit habit
	power byte
	// form is that of the last number of a row, formX and formY are those of
	// the last straight line.
	form, formX, formY form
	// formsArc are those of the last arc's X, Y, I and J.
	formsArc [4]form
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
// letter of another, or one that is no word's.
func (p *plainScanner) set(power byte) bool {
	p.action = [alphabet]uint8{'X' - 'A': wordX, 'Y' - 'A': wordY, 'G' - 'A': wordG, 'F' - 'A': wordF,
		'I' - 'A': wordI, 'J' - 'A': wordJ}
	if power < 'A' || power > 'Z' || p.action[power-'A'] != wordNone || rank(power) != rankOther || power == 'E' || power == 'O' {
		return false
	}
	p.power = power
	p.action[power-'A'] = wordS
	return true
}

// scan reads plain lines from text[:whole], which ends in LF and has
// reach bytes behind it. It returns how many there are and their bytes.
func (p *plainScanner) scan(text []byte, whole int, dst []PlainLine) (n, used int) {
	for n < len(dst) && used < whole {
		rest := text[used:]
		k, width := 0, 0
		switch c := rest[0]; {
		case c == 'X' || c == 'Y':
			k, width = p.pixels(rest, whole-used, int32(used), dst[n:])
		case c == 'G' && rest[1] == '1' && rest[2] == ' ':
			k, width = p.straights(rest, whole-used, int32(used), dst[n:])
		case c == 'G' && rest[2] == ' ':
			k, width = p.bends(rest, whole-used, int32(used), dst[n:])
		}
		if k > 0 {
			n, used = n+k, used+width
			continue
		}
		size := p.line(rest, &dst[n])
		if size == 0 {
			break
		}
		used += size
		dst[n].End = int32(used)
		n++
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

// longNumber reads a number of up to eight digits without sign: digits, or
// digits, a point and digits. width is 0 where it is none. text ends in LF
// before its last reach bytes.
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
