package program

import (
	"bytes"

	"sagitta/internal/diag"
)

// Block is one line of a program, as it stands in the file.
//
// The slices of a Block that a Reader hands out point into the Reader's
// buffer and are good until its next call; CopyTo copies them.
type Block struct {
	// File is the name the Reader was given.
	File string
	// Line is the line number in the file, from 1.
	Line int
	// Raw is the whole line with its line end, byte for byte. The first
	// line's includes a byte-order mark.
	Raw []byte
	// Words are the words outside comments, in the order of the text; one that is
	// said again with the same value stands here once.
	Words []Word
	// Comment is the place in Raw of the first comment's opening
	// character, or -1.
	Comment int
	// Optional reports whether the block begins with "/": a switch on the
	// controller decides whether it is executed.
	Optional bool
	// Percent tells a line of "%", with which a program may begin and ends.
	Percent bool
	// Checksum is the place in Raw of the "*" before the line's checksum,
	// or 0 where it has none.
	Checksum int

	// lapses are those that the line has; with Repeated there are more words on it
	// than Words has.
	lapses lapseSet
	// habit is how the file has been written up to here, for what the
	// block itself does not show.
	habit habit
}

// habit is what lines of a file have in common. The zero value is the style
// used where nothing is known: upper case, blanks between words, comments in
// parentheses, LF.
type habit struct {
	crlf      bool // lines end in CR LF
	tight     bool // no blank between words
	lower     bool // letters in lower case
	semicolon bool // comments begin with ";"
	checked   bool // lines carry checksums
	open      int  // the last line that leaves a comment open, 0 for none
	closes    int  // the last line that closes one too many, 0 for none
}

// Word is a letter and its number.
type Word struct {
	// Letter is in upper case, whatever the file has.
	Letter byte
	// Num is the exact number.
	Num Number
	// Start and End bound the word in Block.Raw: the letter, any blanks
	// after it, and the number.
	Start, End int
}

// Number is an exact decimal: Mant / 10^Dec. Dec is the number of digits
// that stood after the point, trailing zeros included, 0 to 18.
type Number struct {
	Mant int64
	Dec  int8
}

// byteOrderMark is the mark that some editors put before UTF-8 text.
const byteOrderMark = "\xef\xbb\xbf"

// bom returns the length of the byte-order mark the block begins with.
func (b *Block) bom() int {
	if b.Line == 1 && bytes.HasPrefix(b.Raw, []byte(byteOrderMark)) {
		return len(byteOrderMark)
	}
	return 0
}

// begin returns where the line itself begins: behind a byte-order mark and a
// carriage return, see Returned.
func (b *Block) begin() int {
	body := b.Body()
	rest := bytes.TrimLeft(body[b.bom():], " \t\r")
	if len(rest) == 0 {
		return b.bom()
	}
	lead := body[:len(body)-len(rest)]
	return max(b.bom(), bytes.LastIndexByte(lead, '\r')+1)
}

// Body returns the line without its line end. It is a part of Raw.
func (b *Block) Body() []byte {
	body, ended := bytes.CutSuffix(b.Raw, []byte{'\n'})
	if ended {
		body = bytes.TrimRight(body, "\r")
	}
	return body
}

// EOL returns the line end: the LF and any CR before it, or nothing at the
// end of a file that does not end in one. It is a part of Raw.
func (b *Block) EOL() []byte { return b.Raw[len(b.Body()):] }

// NewEOL returns the line end that a new line beside the block should have:
// the block's own or, where it has none, the one the lines before it had.
func (b *Block) NewEOL() string {
	if n := len(b.EOL()); n > 1 || n == 0 && b.habit.crlf {
		return "\r\n"
	}
	return "\n"
}

// CopyTo copies the block to dst, into memory of dst's own. It allocates only
// where the slices of dst are too short.
func (b *Block) CopyTo(dst *Block) {
	raw := append(dst.Raw[:0], b.Raw...)
	words := append(dst.Words[:0], b.Words...)
	*dst = *b
	dst.Raw, dst.Words = raw, words
}

// Find returns the first word with the letter, which must be in upper case.
func (b *Block) Find(letter byte) (*Word, bool) {
	for i := range b.Words {
		if b.Words[i].Letter == letter {
			return &b.Words[i], true
		}
	}
	return nil, false
}

// Place returns where the byte at offset of Raw stands in the file. A word's
// place is that of its Start.
func (b *Block) Place(offset int) diag.Place {
	skip := b.bom()
	return diag.Place{
		File:   b.File,
		Line:   b.Line,
		Col:    max(offset-skip, 0) + 1,
		Source: string(b.Body()[skip:]),
	}
}

// Malformed refuses what stands at the offset of Raw as no RS274 allows it.
func (b *Block) Malformed(offset int, what, hint string) error {
	return &diag.Error{Kind: diag.Malformed, Place: b.Place(offset), What: what, Hint: hint}
}

// Unsupported refuses what stands at the offset of Raw as valid but not followed.
func (b *Block) Unsupported(offset int, what, hint string) error {
	return &diag.Error{Kind: diag.Unsupported, Place: b.Place(offset), What: what, Hint: hint}
}
