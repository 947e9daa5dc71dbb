package program

// PlainLine is a plain motion line: X or Y or both, and at most I, J, a G1, G2
// or G3, an F and a power word, each number of at most eight digits.
// Long programs are made of little else.
type PlainLine struct {
	mant [plainWords]int32
	dec  [plainWords]int8
	has  uint8 // a bit for each word
	// Axis is the offset within the line behind its last axis word, where a
	// further one goes.
	Axis uint8
	// Style is how a further word is spelled.
	Style PlainStyle
	// End is where the line ends in the text it came with, its LF included.
	End int32
}

// PlainWord is a word of a plain line.
type PlainWord uint8

// The words of a plain line.
const (
	plainNone PlainWord = iota
	PlainX
	PlainY
	PlainI
	PlainJ
	PlainF
	PlainPower // whatever its letter
	PlainG     // G1 to G3
	plainWords // how many there are, a power of two
)

// Has reports whether the line has a word.
func (l *PlainLine) Has(w PlainWord) bool { return l.has>>(w%plainWords)&1 != 0 }

// Num returns the number of a word that the line has.
func (l *PlainLine) Num(w PlainWord) Number {
	return Number{int64(l.mant[w%plainWords]), l.dec[w%plainWords]}
}

// Motion returns 1 to 3 for the G1 to G3 that the line has.
func (l *PlainLine) Motion() int8 { return int8(l.mant[PlainG]) }

// PlainStyle is the style of a line as AppendChanged would find it: the
// lowest bits are the decimals that coordinates are filled up to.
type PlainStyle uint8

const (
	plainDecimals PlainStyle = 15
	plainTight    PlainStyle = 16
	plainLower    PlainStyle = 32
	plainPowered  PlainStyle = 64
)

// Powered reports whether the line has a power word.
func (s PlainStyle) Powered() bool { return s&plainPowered != 0 }

// Plain takes plain lines off the program, as many as are next, in the
// buffer, and fit dst. It returns their number, their text, and for SetPlain
// what their blocks have in common, whose Line is that of the first. power is
// the letter of the power word. With 0 lines the next one is for Next, as all
// lines may be.
//
// Text and like hold until the next call.
func (r *Reader) Plain(dst []PlainLine, power byte) (n int, text []byte, like *Block) {
	if r.err != nil || !r.plain.set(power) {
		return 0, nil, nil
	}
	used := 0
	for text = r.whole(); n < len(dst) && used < len(text); n++ {
		size := r.plain.line(text[used:], &dst[n], &r.habit)
		if size == 0 {
			break
		}
		used += size
		dst[n].End = int32(used)
	}
	_, _ = r.src.Discard(used) // which is in the buffer
	r.like = Block{File: r.name, Line: r.line + 1, habit: r.habit}
	r.line += n
	return n, text[:used:used], &r.like
}

// eachLines is how many plain lines Each hands on at once: so many that they stay
// in the nearest cache until they are used.
const eachLines = 256

// Each hands the runs of plain lines that are left of the program to run, with
// what Plain gives for them, and its other lines to block, in
// order; all of them hold until the next call. It returns the first error of
// those or, behind the last line, io.EOF or why the program cannot be read
// further. power is as for Plain.
func (r *Reader) Each(power byte, run func(lines []PlainLine, text []byte, like *Block) error, block func(*Block) error) error {
	lines := make([]PlainLine, eachLines)
	for {
		n, text, like := r.Plain(lines, power)
		if n > 0 {
			if err := run(lines[:n], text, like); err != nil {
				return err
			}
			continue
		}
		b, err := r.Next()
		if err == nil {
			err = block(b)
		}
		if err != nil {
			return err
		}
	}
}

// SetPlain makes b the block of a plain line, as Next would have given it. Its
// Line is i lines behind like's. Raw is the line itself, not a copy.
func (b *Block) SetPlain(like *Block, raw []byte, i int, style PlainStyle) {
	words := b.Words[:cap(b.Words)]
	if len(words) < int(plainWords) {
		words = make([]Word, plainWords)
	}
	n, _ := scanPlain(raw, words)
	*b = Block{File: like.File, Line: like.Line + i, Raw: raw, Words: words[:n], Comment: -1, habit: like.habit}
	b.habit.tight = style&plainTight != 0
}

// MaxPlain is more bytes than a plain line has with a further word.
const MaxPlain = 192

// AppendAxis appends the axis word that a plain line of the style has more when
// num after letter is put in behind its last axis word: then it is what
// AppendChanged makes of its block.
func AppendAxis(dst []byte, style PlainStyle, letter byte, num Number) []byte {
	if style&plainTight == 0 {
		dst = append(dst, ' ')
	}
	dst = append(dst, letter|byte(style&plainLower))
	return spelling{decimals: int(style & plainDecimals)}.append(dst, num)
}
