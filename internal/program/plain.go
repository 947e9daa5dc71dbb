package program

import (
	"bytes"
	"encoding/binary"
	"math/bits"
)

// PlainLine is a plain motion line: X or Y or both, and at most a G1, a power
// word and the feed that is in force, each number of at most eight digits.
// Long programs are made of little else.
type PlainLine struct {
	// X, Y and S are the mantissas of those words, and DecX, DecY, DecS
	// their decimals, as in Number; S is the power word, whatever its letter.
	X, Y             int64
	S                int32
	DecX, DecY, DecS int8
	// Has tells which words the line has.
	Has PlainWords
	// End is where the line ends in the text it came with, its LF included.
	End int32
	// Axis is the offset within the line behind its last axis word, where a
	// further one goes.
	Axis uint8
	// Style is how a further word is spelled.
	Style PlainStyle
}

// PlainWords is a set of words.
type PlainWords uint8

// The words of a plain line besides the feed.
const (
	PlainX PlainWords = 1 << iota
	PlainY
	PlainS
	PlainG1
	plainF
)

// PlainStyle tells the style of a line as AppendChanged would find it: the
// lowest bits are the decimals that coordinates are filled up to.
type PlainStyle uint8

const (
	plainDecimals PlainStyle = 15
	plainTight    PlainStyle = 16
	plainLower    PlainStyle = 32
)

// alphabet is the number of letters.
const alphabet = 26

// maxPlainLine is the longest plain line: its offsets fit a byte.
const maxPlainLine = 120

// A numberWidth is how many bytes are looked at for one number, and must be
// readable behind any.
const numberWidth = 8

// Plain takes plain lines off the program, as many as are next, in the
// buffer, and fit dst. It returns their number and their text. feed is the
// number of the F word in force, power the letter of the power word. With 0
// the next line is for Next, as all lines may be.
//
// The text holds until the next call.
func (r *Reader) Plain(dst []PlainLine, feed Number, power byte) (n int, text []byte) {
	if r.err != nil || power < 'A' || power > 'Z' {
		return 0, nil
	}
	whole := bytes.LastIndexByte(r.buf[r.lo:r.hi], '\n') + 1
	if whole == 0 {
		// An error, and the last line without line end, are for Next.
		if _, err := r.fill(); err != nil {
			return 0, nil
		}
		if whole = bytes.LastIndexByte(r.buf[r.lo:r.hi], '\n') + 1; whole == 0 {
			return 0, nil
		}
	}
	p := plainScanner{feed: feed, power: power - 'A', habit: r.habit}
	n, used := p.scan(r.buf[r.lo:r.lo+whole+numberWidth], whole, dst)
	text = r.buf[r.lo : r.lo+used : r.lo+used]
	r.lo += used
	r.plainLine = r.line + 1
	r.line += n
	r.habit = p.habit
	return n, text
}

// plainScanner reads a run of plain lines.
type plainScanner struct {
	feed  Number
	power byte
	habit habit
}

// What the scanner does with a letter.
const (
	wordNone = iota
	wordX
	wordY
	wordG
	wordF
	wordS
)

// scan reads plain lines from text[:whole], which ends in LF and has
// numberWidth bytes behind it. It returns how many there are and their bytes.
func (p *plainScanner) scan(text []byte, whole int, dst []PlainLine) (n, used int) {
	var action [alphabet]uint8
	action['X'-'A'], action['Y'-'A'], action['G'-'A'], action['F'-'A'] = wordX, wordY, wordG, wordF
	if action[p.power] != wordNone {
		return 0, 0
	}
	action[p.power] = wordS
	i := 0
	for n < len(dst) && i < whole {
		start := i
		l := &dst[n]
		var (
			has       PlainWords
			style     PlainStyle
			most      int8 // decimals of coordinates
			kept      bool // one of them ends in zero
			words     int
			end       int  // of the last word
			letter    byte // of it
			firstOpen bool // the first two words touch
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
				return n, start
			}
			if words > 0 {
				if i == end {
					style |= plainTight
				}
				if words == 1 {
					firstOpen = i == end
				}
			}
			words++
			letter = c
			i++
			negative := text[i] == '-'
			if negative {
				i++
			}
			mant, dec, width := plainNumber(text[i:])
			if width == 0 {
				if mant, dec, width = longNumber(text[i:]); width == 0 {
					return n, start
				}
			}
			i += width
			end = i
			if negative {
				mant = -mant
			}
			switch action[k] {
			case wordX:
				if has&PlainX != 0 {
					return n, start
				}
				has |= PlainX
				l.X, l.DecX = mant, dec
			case wordY:
				if has&PlainY != 0 {
					return n, start
				}
				has |= PlainY
				l.Y, l.DecY = mant, dec
			case wordS:
				if has&PlainS != 0 || mant > 1<<31-1 || negative {
					return n, start
				}
				has |= PlainS
				l.S, l.DecS = int32(mant), dec
				continue
			case wordG:
				if has&PlainG1 != 0 || mant != 1 || dec != 0 {
					return n, start
				}
				has |= PlainG1
				continue
			case wordF:
				if has&plainF != 0 || mant != p.feed.Mant || dec != p.feed.Dec {
					return n, start
				}
				has |= plainF
				continue
			default:
				return n, start
			}
			if dec > 0 {
				most = max(most, dec)
				kept = kept || mant%10 == 0
			}
			l.Axis = uint8(i - start)
			style = style&^plainLower | PlainStyle(c)&plainLower
		}
		if text[i] == '\r' {
			i++
		}
		if text[i] != '\n' || has&(PlainX|PlainY) == 0 || i-start >= maxPlainLine {
			return n, start
		}
		crlf := text[i-1] == '\r'
		i++
		if kept {
			style |= PlainStyle(most)
		}
		if words > 1 {
			p.habit.tight = firstOpen
		} else if p.habit.tight {
			style |= plainTight
		}
		p.habit.crlf = crlf
		l.Has, l.Style, l.End = has, style, int32(i)
		n++
		used = i
		p.habit.lower = letter >= 'a'
	}
	return n, used
}

// plainNumber reads a number without sign at the beginning of text, which has
// at least numberWidth bytes: eight bytes at once, without a branch for each
// digit. width is 0 where it is not a number of digits, or digits, a point
// and digits, that ends within those bytes.
func plainNumber(text []byte) (mant int64, dec int8, width int) {
	const ones, tops = 0x0101010101010101, 0x8080808080808080
	t := binary.LittleEndian.Uint64(text) ^ '0'*ones
	// The top bit of each byte that is no digit: 0x76 carries 10 and above
	// into it, and so does the byte's own.
	other := ((t&^tops + 0x76*ones) | t) & tops
	if other == 0 {
		return 0, 0, 0
	}
	p := bits.TrailingZeros64(other) // 8*digits + 7
	end := p
	if uint8(t>>(p-7)) == '.'^'0' {
		rest := other & (other - 1)
		if rest == 0 {
			return 0, 0, 0
		}
		end = bits.TrailingZeros64(rest)
		dec = int8((end-p)>>3) - 1
		if dec == 0 || p < 8 {
			return 0, 0, 0
		}
		whole := uint64(1)<<(p-7) - 1
		t = t&whole | t>>8&^whole // close the gap of the point
		p = end - 8
	} else if p < 8 {
		return 0, 0, 0
	}
	// The digits go to the upper end, zeros before them, and pairs, fours
	// and all eight are summed at once.
	t <<= 71 - p
	t = t*10 + t>>8
	t = ((t&0x000000ff000000ff)*(100+1000000<<32) + (t>>16&0x000000ff000000ff)*(1+10000<<32)) >> 32
	return int64(t), dec, end >> 3
}

// longNumber is plainNumber for up to eight digits that do not end within
// numberWidth bytes. text ends in LF before its last numberWidth bytes.
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

// AppendPlain appends a plain line with one more axis word: what AppendChanged
// makes of it.
func AppendPlain(dst, line []byte, axis uint8, style PlainStyle, letter byte, num Number) []byte {
	dst = append(dst, line[:axis]...)
	if style&plainTight == 0 {
		dst = append(dst, ' ')
	}
	dst = append(dst, letter|byte(style&plainLower))
	s := spelling{decimals: int(style & plainDecimals)}
	dst = s.append(dst, num)
	return append(dst, line[axis:]...)
}

// PlainBlock fills what the blocks of the lines that Plain took last have in
// common, for SetPlain. Its Line is that of the first one.
func (r *Reader) PlainBlock(like *Block) {
	like.File, like.Line, like.habit = r.name, r.plainLine, r.habit
}

// SetPlain makes b the block of a plain line, as Next would have given it. Its
// Line is i lines behind like's. Raw is the line itself, not a copy.
func (b *Block) SetPlain(like *Block, raw []byte, i int, style PlainStyle) {
	words := b.Words[:cap(b.Words)]
	if len(words) < plainWords {
		words = make([]Word, plainWords)
	}
	n, _ := scanPlain(raw, words)
	*b = Block{File: like.File, Line: like.Line + i, Raw: raw, Words: words[:n], Comment: -1, habit: like.habit}
	b.habit.tight = style&plainTight != 0
}

// plainWords is the most words that a plain line has: X, Y, power, F, G1.
const plainWords = 5
