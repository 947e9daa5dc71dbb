package program

import "math/bits"

// reach is how many bytes behind a line may be looked at.
const reach = 64

// plainScanner reads a run of plain lines.
type plainScanner struct {
	habit habit
	power byte
	// word is what each byte begins: one of PlainX to PlainS, plainG for any G
	// word, or 0.
	word [256]PlainWords
}

// set prepares the scanner. It reports false where the power word has the
// letter of another, or one that is no word's.
func (p *plainScanner) set(power byte) bool {
	if p.power != power {
		p.power = power
		p.word = [256]PlainWords{'X': PlainX, 'Y': PlainY, 'I': PlainI, 'J': PlainJ, 'F': PlainF, 'G': plainG}
		if power < 'A' || power > 'Z' || p.word[power] != 0 || rank(power) != rankOther || power == 'E' || power == 'O' {
			p.word = [256]PlainWords{}
			return false
		}
		p.word[power] = PlainS
		for c := 'A'; c <= 'Z'; c++ {
			p.word[c|0x20] = p.word[c]
		}
	}
	return p.word['X'] != 0
}

// scan reads plain lines from text[:whole], which ends in LF and has
// reach bytes behind it. It returns how many there are and their bytes.
func (p *plainScanner) scan(text []byte, whole int, dst []PlainLine) (n, used int) {
	for n < len(dst) && used < whole {
		size := p.line(text[used:], &dst[n])
		if size == 0 {
			break
		}
		used += size
		dst[n].End = int32(used)
		n++
	}
	return n, used
}

// maxPlainDigits is how many digits a number of a plain line has at most: they
// fit an int32.
const maxPlainDigits = 8

// line reads one plain line at the beginning of text, and fills all of l but
// End. It returns the line's length, or 0 where it is for the general path.
func (p *plainScanner) line(text []byte, l *PlainLine) int {
	var (
		has           PlainWords
		filled, most  int // decimals of coordinates: if one of them ends in zero, and at all
		words, lower  int // how many words, and how many of them in lower case
		touching, end int // how many touch the one before, and the end of the last
		i             int
	)
	for {
		c := text[i]
		if c == ' ' {
			i++
			continue
		}
		word := p.word[c]
		if word == 0 || has&word != 0 {
			break
		}
		if i == end && words > 0 {
			touching++
		}
		words++
		lower += int(c >> 5 & 1)
		i++
		negative := text[i] == '-'
		if negative {
			i++
		}
		m, next := digits(text, i, 0)
		whole, dec := next-i, 0
		if text[next] == '.' {
			from := next + 1
			m, next = digits(text, from, m)
			if dec = next - from; dec == 0 {
				return 0 // "5." is spelled otherwise than words beside it would be
			}
		}
		if whole == 0 || whole+dec > maxPlainDigits {
			return 0
		}
		i, end = next, next
		mant := int32(m)
		if word == plainG {
			if negative || mant < 1 || mant > 3 || dec != 0 {
				return 0
			}
			has |= PlainG1 << (mant - 1)
			continue
		}
		if negative {
			mant = -mant
		}
		has |= word
		k := bits.TrailingZeros16(uint16(word)) % plainNumbers
		l.mant[k], l.dec[k] = mant, int8(dec)
		if word >= PlainF {
			if negative {
				return 0
			}
			continue
		}
		if dec > 0 {
			most = max(most, dec)
			if filled > 0 || text[i-1] == '0' {
				filled = most
			}
		}
		if word >= PlainI {
			continue
		}
		l.Axis = uint8(i)
	}
	crlf := text[i] == '\r'
	if crlf {
		i++
	}
	if text[i] != '\n' || has&(PlainX|PlainY) == 0 || i >= maxPlainLine {
		return 0
	}
	if touching > 0 && touching < words-1 || lower > 0 && lower < words {
		return 0 // in a style of two minds
	}
	if words > 1 {
		p.habit.tight = touching > 0
	}
	p.habit.crlf, p.habit.lower = crlf, lower > 0
	l.Has, l.Style = has, PlainStyle(filled)
	if p.habit.tight {
		l.Style |= plainTight
	}
	if lower > 0 {
		l.Style |= plainLower
	}
	if has&PlainS != 0 {
		l.Style |= plainPowered
	}
	return i + 1
}
