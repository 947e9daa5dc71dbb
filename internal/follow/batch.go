package follow

import (
	"sort"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// batch is a part of the program on its way from the source to the planner.
// All that its items point to is its own, so that it is used again as a whole.
type batch struct {
	items []held
	// marks and text are the lines of its strands, arcs what those of them
	// that are arcs turn.
	marks []mark
	text  []byte
	arcs  []machine.Turn
	// turned is the arc asked for last.
	turned int
	// written counts the items that are done with.
	written int
	// err ends the program: io.EOF, or why it cannot be read.
	err error
}

// item returns a further item, with the memory that it had before.
func (b *batch) item() *held {
	n := len(b.items)
	if n == cap(b.items) {
		more := batchItems / 2 // as many as rasters need
		if n > 0 {
			more = max(batchItems+marksAtOnce, 2*n)
		}
		b.items = append(make([]held, 0, more), b.items...)
	}
	b.items = b.items[:n+1]
	h := &b.items[n]
	*h = held{block: program.Block{Raw: h.block.Raw[:0], Words: h.block.Words[:0]}, batch: b}
	return h
}

// turn is that of mark k, which is an arc.
func (b *batch) turn(k int) *machine.Turn {
	// Mostly all lines between this and the one before are arcs.
	i := b.turned
	if i < len(b.arcs) {
		i += k - int(b.arcs[i].Mark)
	}
	if i < 0 || i >= len(b.arcs) || int(b.arcs[i].Mark) != k {
		i = sort.Search(len(b.arcs), func(i int) bool { return int(b.arcs[i].Mark) >= k })
	}
	b.turned = i
	return &b.arcs[i]
}

func (b *batch) clear() {
	b.items, b.marks, b.text, b.arcs = b.items[:0], b.marks[:0], b.text[:0], b.arcs[:0]
	b.written, b.err, b.turned = 0, nil, 0
}

// fit tells how many of the lines, whose text begins at start, are taken into
// the batch at once; none, where it is full. Its items are counted at certain
// marks only, so that it does not matter how lines come in.
func (b *batch) fit(lines []program.PlainLine, start int32) int {
	const each = marksAtOnce
	if b.text == nil {
		b.text = make([]byte, 0, batchText+program.MaxPlain)
		b.marks = make([]mark, 0, batchMarks)
	}
	n := min(len(lines), batchMarks-len(b.marks), each-len(b.marks)%each)
	if len(b.marks)%each == 0 && len(b.items) >= batchItems {
		return 0
	}
	for n > 0 && len(b.text)+int(lines[n-1].End-start) > batchText {
		n--
	}
	return n
}

// marksAtOnce is how many lines a batch takes at once.
const marksAtOnce = 64

// line returns the text of mark k.
func (b *batch) line(k int) []byte { return b.text[b.lineStart(k):b.marks[k].End] }

func (b *batch) lineStart(k int) int32 {
	if k == 0 {
		return 0
	}
	return b.marks[k-1].End
}
