package zone

import (
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// modal is what a program has in force between two blocks, spelled exactly,
// so that another program can be brought to it.
type modal struct {
	at                        machine.Point
	known                     bool // X and Y are fixed
	motion                    int8 // 0 to 3, -1 before the first
	relative, inches, inverse bool
	// feed and power are the words in force; the flags tell that there is
	// one.
	feed, power         program.Number
	feedSaid, powerSaid bool
	// beam is the M word of the beam in force, noBeam before the first, and
	// lit tells that it is one that puts the beam on.
	beam int64
	lit  bool
	// mist and flood are M7 and M8; M9 ends both.
	mist, flood bool
	// path is the path mode, 61 or 64; 0 before the first.
	path int64
}

const noBeam = -1

// on tells whether the beam fires on feed moves.
func (m *modal) on() bool {
	switch {
	case m.beam == noBeam && !m.powerSaid:
		return true // nothing was said: feed moves count as burns
	case m.beam != noBeam && !m.lit, m.powerSaid && m.power.Mant == 0:
		return false
	}
	return true
}

// tracker follows what State does not tell: how the words in force are
// spelled, and those that move nothing.
type tracker struct {
	cfg machine.Config
	m   modal
}

func newTracker(cfg machine.Config, st machine.State) tracker {
	t := tracker{cfg: cfg, m: modal{beam: noBeam}}
	t.state(&st)
	return t
}

// state takes what the interpreter knows.
func (t *tracker) state(st *machine.State) {
	m := &t.m
	m.at, m.known = st.At, st.XKnown && st.YKnown
	m.motion, m.relative, m.inches, m.inverse = st.Motion, st.Relative, st.Inches, st.InverseTime
}

// take takes a block that the interpreter has taken, with the state after it.
func (t *tracker) take(b *program.Block, st *machine.State) {
	m := &t.m
	if st.InverseTime != m.inverse {
		m.feedSaid = false
	}
	ends, dwell := false, false
	for i := range b.Words {
		w := &b.Words[i]
		switch n := w.Num; {
		case w.Letter == 'G':
			dwell = dwell || n.Cmp(program.Int(4)) == 0
			for _, p := range [...]int64{61, 64} {
				if n.Cmp(program.Int(p)) == 0 {
					m.path = p
				}
			}
		case w.Letter == 'M':
			ends = t.mWord(n) || ends
		case w.Letter == 'F':
			m.feed, m.feedSaid = n, true
		}
	}
	for i := range b.Words {
		if w := &b.Words[i]; w.Letter == t.cfg.PowerWord && !(dwell && w.Letter == 'P') {
			m.power, m.powerSaid = w.Num, true
		}
	}
	t.state(st)
	if ends {
		m.beam, m.lit, m.mist, m.flood = int64(t.cfg.BeamOff[0]), false, false, false
	}
}

// mWord takes an M word, and tells whether it ends the program.
func (t *tracker) mWord(num program.Number) (ends bool) {
	n, ok := num.At(0)
	if !ok {
		return false
	}
	m := &t.m
	switch {
	case slices.Contains(t.cfg.BeamOff, int(n.Mant)):
		m.beam, m.lit = n.Mant, false
	case slices.Contains(t.cfg.BeamOn, int(n.Mant)):
		m.beam, m.lit = n.Mant, true
	case n.Mant == 7:
		m.mist = true
	case n.Mant == 8:
		m.flood = true
	case n.Mant == 9:
		m.mist, m.flood = false, false
	case n.Mant == 2 || n.Mant == 30:
		return true
	}
	return false
}

// beamWord tells whether the M word is one of the beam's.
func beamWord(cfg *machine.Config, num program.Number) bool {
	n, ok := num.At(0)
	return ok && (slices.Contains(cfg.BeamOn, int(n.Mant)) || slices.Contains(cfg.BeamOff, int(n.Mant)))
}

// lightsWord tells whether the M word puts the beam on.
func lightsWord(cfg *machine.Config, num program.Number) bool {
	n, ok := num.At(0)
	return ok && slices.Contains(cfg.BeamOn, int(n.Mant))
}

// lights tells whether the block has a word that puts the beam on.
func lights(cfg *machine.Config, b *program.Block) bool {
	for i := range b.Words {
		if b.Words[i].Letter == 'M' && lightsWord(cfg, b.Words[i].Num) {
			return true
		}
	}
	return false
}
