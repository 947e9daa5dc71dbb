package program

import "bytes"

// The ranks of words: inserted words stand in this order.
const (
	rankN = iota
	rankG
	rankAxis
	rankCentre
	rankFeed
	rankOther
	rankM
)

var ranks = func() (t [256]uint8) {
	for r, letters := range [...]string{
		rankN: "N", rankG: "G", rankAxis: "XYZABCUVW", rankCentre: "IJKR", rankFeed: "F", rankOther: "DEHLOPQST", rankM: "M",
	} {
		for _, c := range []byte(letters) {
			t[c] = uint8(r)
		}
	}
	return t
}()

// rank returns where a letter stands among the words of a line.
func rank(letter byte) int { return int(ranks[letter]) }

// isCoordinate reports whether the word's number is a coordinate: those of a
// line are spelled alike.
func isCoordinate(letter byte) bool {
	r := rank(letter)
	return r == rankAxis || r == rankCentre
}

// spelling is how a number is written.
type spelling struct {
	decimals int  // at least so many digits after the point
	width    int  // at least so many digits before it, zeros before them
	plus     bool // a sign also where it is not negative
	bare     bool // no zero before the point
	point    bool // a point also where no digit follows
}

// append appends the number. Its trailing zeros count only as far as the
// spelling asks for them.
func (s spelling) append(dst []byte, n Number) []byte {
	m, dec := absolute(n.Mant), int(n.Dec)
	for dec > s.decimals && m%10 == 0 {
		m, dec = m/10, dec-1
	}
	fraction := max(dec, s.decimals)
	whole := s.width
	if !s.bare || fraction == 0 {
		whole = max(whole, 1)
	}
	var text [2*MaxDigits + len("-.") + 1]byte // filled from behind
	i := len(text)
	for k := fraction; k > 0; k-- {
		i--
		text[i] = '0'
		if k <= dec {
			text[i] += byte(m % 10)
			m /= 10
		}
	}
	if fraction > 0 || s.point {
		i--
		text[i] = '.'
	}
	for ; whole > 0 || m > 0; whole-- {
		i--
		text[i] = '0' + byte(m%10)
		m /= 10
	}
	switch {
	case n.Mant < 0:
		dst = append(dst, '-')
	case s.plus:
		dst = append(dst, '+')
	}
	return append(dst, text[i:]...)
}

// numberText returns the word's number as it is spelled, with the blanks it
// may have inside.
func (b *Block) numberText(w *Word) []byte {
	text := b.Raw[w.Start+1 : w.End]
	for len(text) > 0 && (text[0] == ' ' || text[0] == '\t') {
		text = text[1:]
	}
	return text
}

// blanks counts the blanks in a number.
func blanks(number []byte) int {
	return bytes.Count(number, []byte{' '}) + bytes.Count(number, []byte{'\t'})
}

// spellingOf returns how the word's number is spelled: what a new number for
// the same word keeps.
func (b *Block) spellingOf(w *Word) spelling {
	text := b.numberText(w)
	s, digits, zero, point := spelling{}, 0, false, false // before the point
	for _, c := range text {
		switch {
		case c == '+':
			s.plus = true
		case c == '.':
			point = true
		case c != '-' && c != ' ' && c != '\t' && !point:
			zero = zero || digits == 0 && c == '0'
			digits++
		}
	}
	if s.bare = digits == 0; zero {
		s.width = min(digits, MaxDigits)
	}
	switch {
	case w.Num.Dec > 0:
		if w.Num.Mant%10 == 0 {
			s.decimals = int(w.Num.Dec)
		}
	case point:
		s.point = true
	case isCoordinate(w.Letter):
		s.decimals = b.fixedDecimals()
	}
	return s
}

// spellingFor returns how the number of a word that the block does not have
// yet is spelled beside the others.
func (b *Block) spellingFor(letter byte) spelling {
	var s spelling
	if letter == 'G' || letter == 'M' {
		if w, ok := b.Find(letter); ok {
			s.width = b.spellingOf(w).width
		}
		return s
	}
	if !isCoordinate(letter) {
		return s
	}
	s.decimals = b.fixedDecimals()
	for i := range b.Words {
		if w := &b.Words[i]; isCoordinate(w.Letter) {
			text := b.numberText(w)
			s.bare = s.bare || bytes.TrimLeft(text, "+- \t")[0] == '.'
			s.point = s.point || text[len(text)-1] == '.'
		}
	}
	return s
}

// fixedDecimals returns how many decimals the coordinates of the block are
// written with, or 0 where zeros at the end are cut. One zero at the end of a
// fraction shows that they are kept.
func (b *Block) fixedDecimals() int {
	kept, most := false, int8(0)
	for i := range b.Words {
		if w := &b.Words[i]; isCoordinate(w.Letter) && w.Num.Dec > 0 {
			kept = kept || w.Num.Mant%10 == 0
			most = max(most, w.Num.Dec)
		}
	}
	if !kept {
		return 0
	}
	return int(most)
}

// tight reports whether the block's words stand without blanks between them. A
// block of one word does as the lines before it.
func (b *Block) tight() bool {
	for i := 1; i < len(b.Words); i++ {
		if b.Words[i].Start == b.Words[i-1].End {
			return true
		}
	}
	return len(b.Words) < 2 && b.habit.tight
}

// lower reports whether the letters beside word i are in lower case. The line
// number, which some other hand may have put there, is not asked.
func (b *Block) lower(i int) bool {
	if len(b.Words) == 0 {
		return b.habit.lower
	}
	i = min(max(i, b.afterN()), len(b.Words)-1)
	return b.Raw[b.Words[i].Start] >= 'a'
}
