package stream

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

const (
	// batchItems, batchVertices and batchText bound a batch: large enough that
	// handing it on costs nothing beside what is in it, small enough that
	// those that wait stay within a few MB.
	batchItems    = 128
	batchVertices = 3 << 10
	batchText     = 48 << 10
	// linesAtOnce is how many plain lines a batch takes at once. Its items are
	// counted between only, so that it does not matter how lines come in.
	linesAtOnce = 128
	// itemsAtOnce is how many items a batch gets memory for at once: those that lines
	// make are few where they lie close, and many where they do not.
	itemsAtOnce = 32
)

// Batch is a part of the program on its way. All that its items point to is its
// own, so that it is used again as a whole.
type Batch struct {
	// chunks have the items, so many of them in use.
	chunks []*[itemsAtOnce]Item
	items  int
	// vertices and text are its plain lines, pieces the heights along the moves
	// of its items.
	vertices []Vertex
	text     []byte
	pieces   []surface.Piece
	// kinds are those of the burns to the vertices, none where burns are of one kind.
	kinds []int
	// found is the block of a power word.
	found  program.Block
	config *machine.Config
	// done counts the items that are done with.
	done int
	// err ends the program: io.EOF, or why it cannot be read.
	err error
}

// at is item i.
func (b *Batch) at(i int) *Item { return &b.chunks[i/itemsAtOnce][i%itemsAtOnce] }

// item returns a further item, with the memory that it had before.
func (b *Batch) item() *Item {
	if b.items == len(b.chunks)*itemsAtOnce {
		b.chunks = append(b.chunks, new([itemsAtOnce]Item))
	}
	it := b.at(b.items)
	b.items++
	raw, words := it.Block.Raw[:0], it.Block.Words[:0]
	*it = Item{}
	it.Block.Raw, it.Block.Words, it.batch = raw, words, b
	it.pieces, it.last = int32(len(b.pieces)), int32(len(b.pieces))
	return it
}

func (b *Batch) clear() {
	b.vertices, b.text, b.pieces, b.kinds = b.vertices[:0], b.text[:0], b.pieces[:0], b.kinds[:0]
	b.items, b.done, b.err = 0, 0, nil
}

func (b *Batch) full() bool {
	return b.items >= batchItems || len(b.vertices) >= batchVertices || len(b.text) >= batchText
}

// fit returns how many of the lines, whose text begins at start, are taken into
// the batch at once; none, where it is full.
func (b *Batch) fit(lines []program.PlainLine, start int32) int {
	n := min(len(lines), batchVertices-len(b.vertices), linesAtOnce-len(b.vertices)%linesAtOnce)
	if len(b.vertices)%linesAtOnce == 0 && b.items >= batchItems {
		return 0
	}
	for n > 0 && len(b.text)+int(lines[n-1].End-start) > batchText {
		n--
	}
	return n
}

// lineStart is where the line that ends at vertex k begins in the text.
func (b *Batch) lineStart(k int) int32 {
	if k == 0 {
		return 0
	}
	return b.vertices[k-1].End
}

// lineItem makes an item of the line to vertex k, d mm long, whose block is filled:
// the move from where Before stands, and the modes that follow. Arcs have their
// turn.
func (b *Batch) lineItem(it *Item, k int, d, secondsPerMM float64, turn *machine.Turn) {
	v, m := &b.vertices[k], &it.Move
	it.Actions, _ = b.config.Actions(&it.Block) // they were read before
	it.After = it.Before
	if w := it.Actions.Power.In(&it.Block); w != nil {
		it.After.Power, it.After.PowerSaid = w.Num, true
	}
	*m = machine.Move{Kind: machine.Line, Burn: v.Burn, From: it.Before.At, To: machine.Point{X: v.X, Y: v.Y, Z: it.Before.At.Z},
		Length: d, Feed: it.Before.FeedMM(), PowerFollows: it.Before.BeamFollows, Power: it.After.Power.Float()}
	if turn != nil {
		turn.Set(m)
	} else if dx, dy := m.To.X-m.From.X, m.To.Y-m.From.Y; dx == 0 || dy == 0 {
		m.Length = max(dx, -dx, dy, -dy) // D has lost a few digits of it
	}
	m.Seconds = m.Length * secondsPerMM
	it.After.At, it.After.Motion = m.To, v.Motion
	setBeam(&it.After, v.Burn)
	it.During = it.After
}

// setBeam says whether the beam burns.
func setBeam(st *machine.State, burn bool) {
	st.Beam = machine.Off
	if burn {
		st.Beam = machine.On
	}
}

// setPower takes the last power word of the lines to the vertices from first up to
// end into the state, if they have one.
func (b *Batch) setPower(st *machine.State, first, end int) {
	for k := end - 1; k >= first; k-- {
		if v := &b.vertices[k]; v.Style.Powered() {
			b.found.SetPlain(&program.Block{}, b.text[b.lineStart(k):v.End], 0, 0)
			if w, has := b.found.Find(b.config.PowerWord); has {
				st.Power, st.PowerSaid = w.Num, true
			}
			return
		}
	}
}
