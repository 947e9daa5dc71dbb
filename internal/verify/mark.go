package verify

import (
	"io"

	"sagitta/internal/machine"
)

// Mark is the begin of a program, or a place between two of its blocks behind its first
// burn, with what is in force there.
type Mark struct {
	bytes        int64
	last         int
	percents     int
	state        machine.State
	beam, cooler int64
	tool         int
}

// Line is that of the block before it, 0 at the begin.
func (m *Mark) Line() int { return m.last }

// Mark marks where the stream stands. It reports false within a block.
func (st *Stream) Mark() (Mark, bool) {
	return Mark{st.bytes, st.last, st.percents, st.State(), st.beam, st.cooler, st.tool}, st.given == len(st.steps)
}

// Resume goes on behind a mark, which was made in the same program. What the stream
// tells of the whole program does not hold from then on.
func (st *Stream) Resume(program io.ReaderAt, at *Mark) {
	st.r.Resume(&reread{of: program, at: at.bytes, most: firstRead}, at.last+1, at.percents)
	st.bytes, st.last, st.percents, st.beam, st.cooler, st.tool = at.bytes, at.last, at.percents, at.beam, at.cooler, at.tool
	if at.last == 0 {
		st.ip = machine.New(st.cfg)
	} else {
		st.ip.Resume(&at.state)
	}
	now := st.State()
	st.known = [3]bool{now.XKnown, now.YKnown, now.ZKnown}
	st.steps, st.given = st.steps[:0], 0
}

// firstRead and mostRead bound how many bytes are read at once: few at first, as what
// is looked for at a mark is mostly near.
const (
	firstRead = 4 << 10
	mostRead  = 64 << 10
)

// reread reads a program from a place on.
type reread struct {
	of   io.ReaderAt
	at   int64
	most int
}

func (r *reread) Read(b []byte) (int, error) {
	n, err := r.of.ReadAt(b[:min(len(b), r.most)], r.at)
	r.at += int64(n)
	r.most = min(2*r.most, mostRead)
	if n > 0 && err == io.EOF {
		err = nil
	}
	return n, err
}
