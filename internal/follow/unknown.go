package follow

import (
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Places that are not known: X and Y before the program says them, and every
// axis after G28, G30 or G53. No height can be read there and no burn is there;
// with Z unknown there is nothing that a correction could be added to. So the
// tube leaves such moves out, and goes on where the last of the axes becomes
// known again.

// arriveTime is the time in s that stands for the way to there, which nothing
// is known of: so long that c changes on it as it likes.
const arriveTime = 60

// arrive appends the gate at the end of a travel that ends at a known place
// and did not start at one.
func (tb *tubeBuilder) arrive(i int32, m *machine.Move) {
	h, where := tb.opt.Surface.At(m.To.X, m.To.Y)
	g := open()
	g.dt, g.move = arriveTime, i
	tb.gates = append(tb.gates, g)
	tb.narrow(h, &surface.Piece{S1: 1, H0: h, H1: h, Where: where}, false)
	end := *m
	end.From = end.To
	tb.limit(&end, len(tb.gates)-1)
}

// arrives tells that Z becomes known with block k.
func (f *runner) arrives(k int) bool { return f.blocks[k].after.ZKnown && !f.zKnown(k) }

// zKnown tells whether Z is known before block k.
func (f *runner) zKnown(k int) bool {
	if k > 0 {
		return f.blocks[k-1].after.ZKnown
	}
	return f.out.state.ZKnown
}

// lostAtEnd tells that the blocks that wait end with Z unknown.
func (f *runner) lostAtEnd() bool { return !f.zKnown(len(f.blocks)) }
