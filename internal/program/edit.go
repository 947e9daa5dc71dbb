package program

import (
	"bytes"
	"cmp"
	"slices"
)

// Change is a word to write: a new number for a word of a block, a word to
// put in, or a word to take out.
type Change struct {
	// Letter is the word's letter, in upper case.
	Letter byte
	// Num is its number. Zeros at its end do not count: how many are
	// written follows from the style of the line.
	Num Number
	// Word addresses a word by its place: one more than its index in
	// Block.Words. With 0 the letter addresses it but for G and M, which may
	// stand several times on a line: they are put in.
	Word int
	// Drop takes out the word that Word addresses.
	Drop bool
}

// SetWord returns the change that gives word i of a block's Words the number.
func SetWord(i int, num Number) Change { return Change{Num: num, Word: i + 1} }

// DropWord returns the change that takes word i of a block's Words out.
func DropWord(i int) Change { return Change{Drop: true, Word: i + 1} }

// hits reports whether the change addresses word i of b.
func (c *Change) hits(b *Block, i int) bool {
	if c.Word != 0 {
		at := &b.Words[c.Word-1]
		return c.Word == i+1 || at.Letter == b.Words[i].Letter && at.Num.Cmp(b.Words[i].Num) == 0 // said again
	}
	return c.Letter == b.Words[i].Letter && manyTimes&bit(c.Letter) == 0
}

// unfolded returns the block with all the words of its line, those that are said again
// too, and the changes for it: what changes a word changes it wherever it stands.
func (b *Block) unfolded(changes []Change) (*Block, []Change) {
	all := &Block{File: b.File, Line: b.Line, Raw: b.Raw, Comment: -1, habit: b.habit}
	_ = tokens(all) // which it has been read by
	moved := slices.Clone(changes)
	for k := range moved {
		if c := &moved[k]; c.Word != 0 {
			start := b.Words[c.Word-1].Start
			c.Word = 1 + slices.IndexFunc(all.Words, func(w Word) bool { return w.Start == start })
		}
	}
	return all, moved
}

// inserts reports whether the change puts a word into b.
func (c *Change) inserts(b *Block) bool {
	_, ok := b.Find(c.Letter)
	return c.Word == 0 && (!ok || manyTimes&bit(c.Letter) != 0)
}

// slot returns the index of the word before which a new word with the letter
// stands: G comes first after N; coordinates and F after the last of their
// kind or, where there is none, before the first of the kinds that follow;
// M at the end. Only at the end do M words make room for others.
func (b *Block) slot(letter byte) int {
	r, end := rank(letter), len(b.Words)
	if r == rankM {
		return end
	}
	for i := end; i > 0 && r != rankG; i-- {
		if rank(b.Words[i-1].Letter) == r {
			return i
		}
	}
	later := slices.IndexFunc(b.Words, func(w Word) bool { return rank(w.Letter) >= r && w.Letter != 'M' })
	switch {
	case later >= 0:
		return later
	case r == rankG:
		return b.afterN()
	}
	for end > 0 && b.Words[end-1].Letter == 'M' {
		end--
	}
	return end
}

// afterN returns the index of the first word behind the line number.
func (b *Block) afterN() int {
	if len(b.Words) > 0 && b.Words[0].Letter == 'N' {
		return 1
	}
	return 0
}

// AppendChanged appends the block with these words changed and everything
// else byte for byte. Without changes it appends Raw. A word that is there
// gets its new number in its own spelling; a word that is not is put in, in
// the style of the block. Of several changes of the same word the first
// counts. Words go only into blocks that are made of words: not into "%" and
// "$" lines, texts and program numbers. A checksum is made anew.
//
// It does not allocate where dst has the room.
func AppendChanged(dst []byte, b *Block, changes []Change) []byte {
	if len(changes) == 0 {
		return append(dst, b.Raw...)
	}
	if b.lapses.has(Repeated) {
		b, changes = b.unfolded(changes)
	}
	var room [16]insertion
	planned, start := plan(room[:0], b, changes), len(dst)
	e := editor{b: b, tight: b.tight()}
	var begin, end int
	if n := len(b.Words); n > 0 {
		begin, end = b.Words[0].Start, b.Words[n-1].End
	} else {
		begin = b.wordless()
		end = begin
	}
	e.dst = append(dst, b.Raw[:begin]...)
	for i := range b.Words {
		planned = e.insert(planned, changes, i)
		e.word(changes, i)
	}
	e.insert(planned, changes, len(b.Words))
	tail := b.Raw[end:]
	switch {
	case !e.written:
		tail = bytes.TrimLeft(tail, " \t")
	case len(b.Words) == 0 && end < len(b.Body()):
		e.dst = append(e.dst, ' ')
	}
	dst = append(e.dst, tail...)
	if b.Checksum > 0 {
		return b.rechecked(dst, start)
	}
	return dst
}

// wordless returns where a word goes in a block that has none: after the
// byte-order mark, blanks and "/".
func (b *Block) wordless() int {
	body := b.Body()
	return len(body) - len(bytes.TrimLeft(body[b.begin():], " \t/"))
}

// editor writes a block word by word.
type editor struct {
	b       *Block
	dst     []byte
	tight   bool
	written bool // a word has been written
	fresh   bool // the last thing written is a word put in
}

// insertion puts the word of a change before another of the block.
type insertion struct{ before, rank, change int }

// plan appends what the changes put into a block, in order: by rank where several
// words come together.
func plan(dst []insertion, b *Block, changes []Change) []insertion {
	for k := range changes {
		if c := &changes[k]; c.inserts(b) && !repeated(changes[:k], c) {
			dst = append(dst, insertion{b.slot(c.Letter), rank(c.Letter), k})
		}
	}
	slices.SortStableFunc(dst, func(p, q insertion) int {
		return cmp.Or(p.before-q.before, p.rank-q.rank)
	})
	return dst
}

// insert writes the first of the planned words, those that are put before word i,
// and returns the others.
func (e *editor) insert(planned []insertion, changes []Change, i int) []insertion {
	for len(planned) > 0 && planned[0].before == i {
		c := &changes[planned[0].change]
		if e.written && !e.tight {
			e.dst = append(e.dst, ' ')
		}
		e.dst = e.b.appendWord(e.dst, c, i-1, e.b.spellingFor(c.Letter))
		e.written, e.fresh = true, true
		planned = planned[1:]
	}
	return planned
}

// appendWord appends a new word, in the case of word i.
func (b *Block) appendWord(dst []byte, c *Change, i int, s spelling) []byte {
	letter := c.Letter
	if b.lower(i) {
		letter |= 0x20
	}
	return s.append(append(dst, letter), c.Num)
}

// repeated reports whether an earlier change puts the same word in. G and M
// words may differ by number.
func repeated(earlier []Change, c *Change) bool {
	return slices.ContainsFunc(earlier, func(o Change) bool {
		return o.Letter == c.Letter && o.Word == 0 && (manyTimes&bit(c.Letter) == 0 || o.Num.Cmp(c.Num) == 0)
	})
}

// word writes word i of the block as the changes have it, and what stands
// between the word before and it.
func (e *editor) word(changes []Change, i int) {
	w, k := &e.b.Words[i], slices.IndexFunc(changes, func(c Change) bool { return c.hits(e.b, i) })
	var gap []byte
	if i > 0 {
		gap = e.b.Raw[e.b.Words[i-1].End:w.Start]
	}
	if k >= 0 && changes[k].Drop {
		// Blanks go with the word, a comment stays.
		e.dst = append(e.dst, bytes.TrimRight(gap, " \t")...)
		return
	}
	if !e.written && len(bytes.TrimRight(gap, " \t")) == 0 {
		gap = nil // all words before are gone
	}
	if len(gap) == 0 && e.fresh && !e.tight {
		e.dst = append(e.dst, ' ')
	}
	e.dst = append(e.dst, gap...)
	e.written, e.fresh = true, false
	if k < 0 {
		e.dst = append(e.dst, e.b.Raw[w.Start:w.End]...)
		return
	}
	number := e.b.numberText(w)
	e.dst = append(e.dst, e.b.Raw[w.Start:w.End-len(number)]...)
	e.dst = e.b.spellingOf(w).append(e.dst, changes[k].Num)
}

// AppendBlock appends a whole new line with these words, in this order, in
// the style of like: case, blanks, decimals, checksum and line end. It has no
// comment. like may be any block.
//
// It does not allocate where dst has the room.
func AppendBlock(dst []byte, like *Block, words []Change) []byte {
	tight, start := like.tight(), len(dst)
	for k := range words {
		c := &words[k]
		if len(dst) > start && !tight {
			dst = append(dst, ' ')
		}
		s := like.spellingFor(c.Letter)
		if w, ok := like.Find(c.Letter); ok && manyTimes&bit(c.Letter) == 0 {
			s = like.spellingOf(w)
		}
		dst = like.appendWord(dst, c, 0, s)
	}
	if like.Checked() {
		dst = appendChecksum(dst, start)
	}
	return append(dst, like.NewEOL()...)
}

// AppendComment appends a line that is one comment, in the style of the file
// up to like: after ";" or in parentheses, with its line end. Parentheses in
// the text become square brackets where the comment stands in parentheses,
// and control characters become blanks.
func AppendComment(dst []byte, like *Block, text string) []byte {
	open, end := "(", ")"
	if like.habit.semicolon {
		open, end = "; ", ""
	}
	dst = append(dst, open...)
	for _, c := range []byte(text) {
		switch {
		case c < ' ' || c == 0x7f:
			c = ' '
		case c == '(' && end != "":
			c = '['
		case c == ')' && end != "":
			c = ']'
		}
		dst = append(dst, c)
	}
	dst = append(dst, end...)
	return append(dst, like.NewEOL()...)
}
