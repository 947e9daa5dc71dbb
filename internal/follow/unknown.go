package follow

import (
	"sagitta/internal/corridor"
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
func (tb *tubeBuilder) arrive(m *machine.Move) {
	h, where := tb.opt.Surface.At(m.To.X, m.To.Y)
	g := corridor.Open()
	g.DT = arriveTime
	tb.gates = append(tb.gates, g)
	tb.narrow(h, &surface.Piece{S1: 1, H0: h, H1: h, Where: where}, false)
	end := *m
	end.From, end.Length = end.To, 0
	tb.limit(&end, len(tb.gates)-1)
	tb.cut(&end)
	tb.raise(len(tb.gates) - 1)
}

// arrives reports whether Z becomes known with block k.
func (f *runner) arrives(k int) bool { return f.window.blocks[k].After.ZKnown && !f.before(k).ZKnown }

// before is what is in force between block k-1 and block k.
func (f *runner) before(k int) *machine.State {
	if k > 0 {
		return &f.window.blocks[k-1].After
	}
	return f.out.State()
}

// admits reports whether a block of Z alone can be put in before block k: the
// beam cannot fire, Z is known, and its numbers mean there what they mean at
// the first motion.
func (f *runner) admits(k int) bool {
	st := f.before(k)
	if !dark(st) || !st.ZKnown {
		return false
	}
	for q := k; !st.Settled && q < len(f.window.blocks); q++ {
		h := f.window.blocks[q]
		// A work offset on block k itself goes before the block of Z.
		if a := &h.Actions; a.Codes[machine.NonModal] == 100 || a.G[machine.WorkOffset] != 0 && q > k {
			return false
		}
		if h.After.Settled {
			break
		}
	}
	return true
}

// lostAtEnd reports whether the blocks that wait end with Z unknown.
func (f *runner) lostAtEnd() bool { return !f.before(len(f.window.blocks)).ZKnown }
