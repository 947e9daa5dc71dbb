package program

import (
	"bytes"
	"fmt"
	"regexp"

	"sagitta/internal/diag"
)

// brackets are how far those of comments have been read on a line. RS274 (NISTIR 6556,
// 3.3.4) has no comment within a comment and none that is not closed, and controllers
// read both as they like: a comment ends at the first ")", or as many are wanted as
// brackets were opened, or the line ends it, or it goes on. Only what means the same by
// all of these passes.
type brackets struct {
	// deep is how many ")" are still wanted by the one who counts, where another takes
	// the comment as ended.
	deep int
	// at is where that comment begins.
	at int
	// ended is where the last comment in brackets ended, 0 before any.
	ended int
}

// comment takes the comment at i.
func (in *brackets) comment(b *Block, body []byte, i int) (end int, err error) {
	if b.Comment < 0 {
		b.Comment = i
		b.habit.semicolon = body[i] == ';'
	}
	if body[i] == ';' {
		if in.deep > 0 && mayActs.Match(body[i:]) {
			return 0, in.doubt(b, i)
		}
		return len(body), nil
	}
	n := bytes.IndexByte(body[i:], ')')
	if n < 0 {
		if mayActs.Match(body[i:]) {
			return 0, b.Malformed(i, "comment is never closed: either all behind it is comment, or its words act",
				`close it with ")" where it ends`)
		}
		b.lapses.add(LeftOpen)
		return len(body), in.leftOpen(b, i)
	}
	if inner := bytes.Count(body[i+1:i+n], []byte{'('}); inner > 0 {
		if in.deep == 0 {
			in.at = i
		}
		in.deep += inner
		b.lapses.add(Nested)
	}
	in.ended = i + n + 1
	return in.ended, nil
}

// mayActs finds what some controller may take for a word, or for a checksum.
var mayActs = regexp.MustCompile(`[A-Za-z*][ \t]*([-+][ \t]*)?(\.[ \t]*)?[0-9#\[]`)

// close takes a ")" at i that ends no comment for whoever ends them at the first.
func (in *brackets) close(b *Block, i int) error {
	switch {
	case in.deep > 0:
		in.deep--
		return nil
	case b.habit.open > 0:
		return b.Malformed(i, fmt.Sprintf(`")" without "(": either the comment that line %d leaves open ends here, and nothing between acts, or it ended with its line, and all of it does`,
			b.habit.open), "") // goesOn says what to do
	case in.ended > 0 && len(bytes.Trim(b.Raw[in.ended:i], " \t)")) == 0:
		b.lapses.add(Overclosed)
		b.habit.closes = b.Line
		return nil
	}
	return b.Malformed(i, `")" without "("`, "")
}

// doubt refuses what stands at i behind a comment that is not ended for all.
func (in *brackets) doubt(b *Block, i int) error {
	return b.Malformed(i, `a comment within a comment: either it ended at the first ")", and what stands here acts, or it goes on, and it does not`,
		fmt.Sprintf(`it begins in column %d: take the inner "(" out`, in.at-b.bom()+1))
}

// end ends the line.
func (in *brackets) end(b *Block) error {
	if in.deep > 0 {
		return in.leftOpen(b, in.at)
	}
	return nil
}

// leftOpen notes that the line leaves the comment at i open. What closes one too many
// must not stand in the same program, whatever the order, which may become another.
func (in *brackets) leftOpen(b *Block, i int) error {
	if n := b.habit.closes; n > 0 {
		return b.Malformed(i, fmt.Sprintf(`comment is never closed, and line %d has a ")" too many`, n), "mend one of the two")
	}
	b.habit.open = b.Line
	return nil
}

// goesOn adds to what is wrong with the line that it may be a comment's. On the next
// line that is likelier than anything else.
func (b *Block) goesOn(err error) error {
	open := b.habit.open
	if e := diag.As(err); e != nil && open > 0 && (open == b.Line-1 || open < b.Line && e.Hint == "") {
		e.Hint = fmt.Sprintf(`line %d leaves a comment open: if it goes on to here, put each line of it in "(" and ")"`, open)
	}
	return err
}
