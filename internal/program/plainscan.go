package program

import "strings"

// plainScanner reads plain lines.
type plainScanner struct {
	power byte
	// word is what each byte begins.
	word [256]PlainWord
}

// set prepares the scanner. It reports false where the power word has the
// letter of another, or one that is no word's.
func (p *plainScanner) set(power byte) bool {
	if p.power != power {
		p.power = power
		p.word = [256]PlainWord{}
		if strings.IndexByte("DHLPQST", power) < 0 {
			return false
		}
		for c, w := range map[byte]PlainWord{'X': PlainX, 'Y': PlainY, 'I': PlainI, 'J': PlainJ, 'F': PlainF, power: PlainPower, 'G': PlainG} {
			p.word[c], p.word[c|0x20] = w, w
		}
	}
	return p.word['X'] != plainNone
}

const (
	// maxPlainLine is the longest plain line: its offsets fit a byte.
	maxPlainLine = 120
	// maxPlainDigits is how many digits a number of a plain line has at most:
	// they fit an int32.
	maxPlainDigits = 8
)

// What is found out about a line beside its words, in bits above theirs.
const (
	inUpper  uint32 = 1 << (iota + 8)
	inLower         // must be the next
	together        // a word behind another at once
	apart           // behind a blank
	zeroKept        // a coordinate ends in zero
)

// line reads one plain line at the beginning of text, which ends in LF, and fills
// all of l but End. It returns the line's length, or 0 where it is for the general
// path. h is the habit of the file up to there.
func (p *plainScanner) line(text []byte, l *PlainLine, h *habit) int {
	var (
		has  uint32 // bits: the words, and below what is found out about them
		gap  uint32 // what stands between the next word and the one before
		most int    // decimals of coordinates
		i    int
	)
	for {
		c := text[i]
		word := p.word[c]
		if word == plainNone || has>>(word&31)&1 != 0 {
			break
		}
		has |= 1<<(word&31) | inUpper<<(c>>5&1) | gap
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
		i = next
		mant := int32(m)
		if word == PlainG && (m < 1 || m > 3 || dec != 0) || negative && word >= PlainF {
			return 0
		}
		if word < PlainF {
			most = max(most, dec)
			if dec > 0 && text[i-1] == '0' {
				has |= zeroKept
			}
			if word < PlainI {
				l.Axis = uint8(i)
			}
		}
		if negative {
			mant = -mant
		}
		l.mant[word%plainWords], l.dec[word%plainWords] = mant, int8(dec)
		if gap = together; text[i] == ' ' {
			gap = apart
			i++
		}
	}
	crlf := text[i] == '\r'
	if crlf {
		i++
	}
	if text[i] != '\n' || has&(1<<PlainX|1<<PlainY) == 0 || i >= maxPlainLine {
		return 0
	}
	const styles, gaps = inUpper | inLower, together | apart
	if has&styles == styles || has&gaps == gaps {
		return 0 // in a style of two minds
	}
	if has&gaps != 0 {
		h.tight = has&together != 0
	}
	h.crlf, h.lower = crlf, has&inLower != 0
	if has&zeroKept == 0 {
		most = 0
	}
	l.has, l.Style = uint8(has), PlainStyle(most)
	if h.tight {
		l.Style |= plainTight
	}
	if h.lower {
		l.Style |= plainLower
	}
	if has&(1<<PlainPower) != 0 {
		l.Style |= plainPowered
	}
	return i + 1
}
