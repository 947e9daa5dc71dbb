package verify

import (
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// noWord is before the first M word of a group.
const noWord = -1

// Stream gives a program step by step: M words, then the motion or dwell of
// their line, then the words that stop a program, as RS274 3.8 has them act.
// M words that repeat what is in force are left out, and so are motions that
// do not move and do not burn.
type Stream struct {
	r  *program.Reader
	ip *machine.Interpreter

	blocks, last int // how many there were, and the line of the last
	// Of the block under way.
	b       *program.Block
	cur     Step
	did     machine.Actions
	pending bool // cur has not been given yet
	at      int  // the next word to look at
	after   bool // at counts the words that stop

	withoutBeam  bool // beam words are left out
	beam, cooler int64
}

// NewStream returns the steps of a program; its name is for messages. Of a
// rehearsal, or what one was made from, beam words are left out.
func NewStream(r io.Reader, name string, cfg machine.Config, rehearsal bool) *Stream {
	return &Stream{
		r:           program.NewReader(r, name),
		ip:          machine.New(cfg),
		withoutBeam: rehearsal,
		beam:        noWord,
		cooler:      noWord,
	}
}

// State is what is in force after the last block read.
func (st *Stream) State() machine.State { return st.ip.State() }

// Next fills s with the next step. At the end its kind is AtEnd, time and
// again. The error is that of a program that cannot be read.
func (st *Stream) Next(s *Step) error {
	for {
		if st.b != nil {
			if st.step(s) {
				return nil
			}
			st.b = nil
		}
		b, err := st.r.Next()
		if errors.Is(err, io.EOF) {
			*s = Step{Kind: AtEnd, Line: st.last, Beam: st.State().Beam}
			return nil
		}
		if err != nil {
			return err
		}
		st.blocks++
		st.last = b.Line
		before := st.ip.State()
		st.cur = Step{Line: b.Line}
		if err := st.ip.Step(b, &st.cur.M); err != nil {
			return err
		}
		now := st.ip.State()
		during := st.ip.During()
		st.take(b, &before, &during, &now)
	}
}

// take begins a block.
func (st *Stream) take(b *program.Block, before, during, now *machine.State) {
	st.b, st.did, st.at, st.after = b, st.ip.Actions(), 0, false
	c := &st.cur
	c.Known, c.FindsZ = now.XKnown && now.YKnown && now.ZKnown, now.ZKnown && !before.ZKnown
	c.Beam, c.Inches, c.Inverse = during.Beam, during.Inches, during.InverseTime
	switch m := &c.M; m.Kind {
	case machine.Dwell:
		c.Kind, st.pending = Dwell, true
	case machine.Line, machine.Arc:
		c.Kind = Motion
		c.OverXY = m.Length > 0 || now.XKnown != before.XKnown || now.YKnown != before.YKnown ||
			m.Lost&(machine.AxisX|machine.AxisY) != 0
		st.pending = c.OverXY || m.Burn || c.dz() != 0 || m.Lost != 0 || c.FindsZ
	default:
		st.pending = false
	}
}

// step gives what is left of the block under way, and reports whether anything is.
func (st *Stream) step(s *Step) bool {
	if !st.after {
		if st.words(s) {
			return true
		}
		st.after, st.at = true, 0
		if st.pending {
			st.pending = false
			*s = st.cur
			return true
		}
	}
	return st.words(s)
}

// words gives the next M word of the block that counts, and reports whether there
// is one.
func (st *Stream) words(s *Step) bool {
	for st.at < len(st.b.Words) {
		at, w := st.at, &st.b.Words[st.at]
		st.at++
		if w.Letter != 'M' || st.did.Stop.Set().Has(at) != st.after {
			continue
		}
		n, _ := w.Num.At(0)
		m := n.Mant
		if !st.b.Optional {
			switch {
			case st.did.Beam.Set().Has(at):
				if st.withoutBeam || m == st.beam {
					continue
				}
				st.beam = m
			case st.did.Coolant.Has(at):
				if m == st.cooler {
					continue
				}
				st.cooler = m
			case st.after && st.did.Ends:
				// M2 and M30 stop beam and coolant (RS274 3.7.3).
				st.beam, st.cooler = noWord, noWord
			}
		}
		*s = Step{Kind: Word, Line: st.b.Line, Word: m, Optional: st.b.Optional, Stops: st.after, Beam: st.cur.Beam}
		s.M.From, s.M.To, s.M.Power, s.M.PowerFollows = st.cur.M.To, st.cur.M.To, st.cur.M.Power, st.cur.M.PowerFollows
		return true
	}
	return false
}
