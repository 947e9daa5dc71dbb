package zone

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// The flags of an item.
const (
	isBurn    uint8 = 1 << iota // the beam burns
	isMotion                    // the head moves (a dwell does not)
	isOff                       // part of it is off the surface
	isHole                      // part of it is over missing heights
	pathless                    // the move comes from an unknown place
	saysPower                   // its own words say the power
)

// item is a line of the program: what it does, and the heights it sees.
type item struct {
	x0, y0, x, y float64 // mm
	length, sec  float64 // mm over XY, s as programmed
	// a and b are the certified lowest and highest height along it, of a
	// dwell or a mark at its point; NaN where it has no place.
	a, b float64
	// end is where its text ends in the batch's.
	end int32
	// held is its number in the batch's blocks, -1 for a plain line; like
	// is then what it has in common with others.
	held, like int32
	line       int32
	// power is the power word in force for a plain line.
	power int32
	// zone is what was decided for a burn, and part the number of its first
	// part in the splitter's list where it is cut, else -1.
	zone, part int32
	powerDec   int8
	flags      uint8
}

func (it *item) is(flag uint8) bool { return it.flags&flag != 0 }

// held is a block that is no plain line.
type held struct {
	block         program.Block
	mv            machine.Move
	before, after modal
}

// strand is what plain lines have in common.
type strand struct {
	m      modal // before the first; power and place are each line's own
	like   program.Block
	first  int32 // line number that like stands for
	styles int32 // where in the batch's styles those of its lines begin
	item   int32 // the first item
	perMM  float64
}

// batch is a part of the program with what was made of it. All that it points
// to is its own.
type batch struct {
	items   []item
	text    []byte
	blocks  []held
	strands []strand
	styles  []program.PlainStyle
	// thick is the most that Up and Down of a burn's piece come to.
	thick float64
	err   error
}

func (b *batch) clear() {
	b.items, b.text, b.blocks = b.items[:0], b.text[:0], b.blocks[:0]
	b.strands, b.styles, b.thick, b.err = b.strands[:0], b.styles[:0], 0, nil
}

// start is where the text of item i begins.
func (b *batch) start(i int) int32 {
	if i == 0 {
		return 0
	}
	return b.items[i-1].end
}

// plainBlock makes dst the block of plain item i.
func (b *batch) plainBlock(i int, dst *program.Block) {
	it := &b.items[i]
	st := &b.strands[it.like]
	dst.SetPlain(&st.like, b.text[b.start(i):it.end], int(it.line-st.first), b.styles[int(st.styles)+i-int(st.item)])
}
