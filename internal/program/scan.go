package program

// What the scanner makes of a byte at the beginning of a word: a letter (in
// upper case) that it takes, a blank, or 0 for neither. E and O are left to the
// general path, which refuses them.
const blank = 1

var plainClass = func() (t [256]uint8) {
	t[' '], t['\t'] = blank, blank
	for c := byte('A'); c <= 'Z'; c++ {
		if c != 'E' && c != 'O' {
			t[c], t[c|0x20] = c, c
		}
	}
	return t
}()

// bit returns the bit of a letter in a set of letters.
func bit(letter byte) uint32 { return 1 << (letter & 31) }

// manyTimes holds the letters that may stand several times on a line.
const manyTimes = uint32(1<<('G'&31) | 1<<('M'&31))

// scanPlain reads a plain line: words without blanks inside their numbers,
// and blanks. line must end in LF, whether the file has it or not: the loops
// run up to it without asking for the length. Words are written over words up
// to its length. It reports how many there are, and false where the line is
// not plain, is malformed or has more words: those are for the general path.
//
// A byte costs one look, because this loop is most of what reading a long
// program takes.
func scanPlain(line []byte, words []Word) (n int, ok bool) {
	var seen uint32
	i := 0
	for {
		c := line[i]
		letter := plainClass[c]
		if letter <= blank {
			if letter == blank {
				i++
				continue
			}
			if c == '\r' {
				i++
				for line[i] == '\r' {
					i++
				}
				c = line[i]
			}
			return n, c == '\n' && !beginsText(words[:n])
		}
		b := uint32(1) << (letter & 31)
		again := seen&b != 0
		if again && b&manyTimes == 0 || n >= len(words) {
			return n, false
		}
		seen |= b
		w := &words[n]
		w.Letter = letter
		w.Start = i
		i++
		c = line[i]
		for c == ' ' || c == '\t' {
			i++
			c = line[i]
		}
		first := i
		negative := c == '-'
		if negative || c == '+' {
			i++
		}
		from := i
		m, end := digits(line, i, 0)
		whole, dec := end-i, 0
		if i = end; line[i] == '.' {
			m, i = digits(line, end+1, m)
			dec = i - end - 1
		}
		// Up to 18 digits do not overflow; more have made nonsense of m.
		if total := whole + dec; total == 0 || total > MaxDigits {
			return n, false
		}
		if letter == 'N' && (first != from || i-from != whole || whole > maxLineNumber) {
			return n, false
		}
		mant := int64(m)
		if negative {
			mant = -mant
		}
		w.Num.Mant, w.Num.Dec, w.End = mant, int8(dec), i
		if again && sameLetter(words[:n], w) != nil {
			return n, false
		}
		n++
	}
}

// beginsText reports whether the words of a line begin with M117 or M118, after
// a line number or not: what follows them is text.
func beginsText(words []Word) bool {
	if len(words) > 0 && words[0].Letter == 'N' {
		words = words[1:]
	}
	return len(words) > 0 && words[0].Letter == 'M' &&
		(words[0].Num == Number{Mant: 117} || words[0].Num == Number{Mant: 118})
}

// digits reads the digits at text[i] behind those of m, up to text[end]. More than
// 18 of them make nonsense of m. text ends in another byte.
func digits(text []byte, i int, m uint64) (_ uint64, end int) {
	for d := text[i] - '0'; d <= 9; d = text[i] - '0' {
		m = m*10 + uint64(d)
		i++
	}
	return m, i
}
