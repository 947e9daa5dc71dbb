package verify

import (
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// step is what a program does next.
type step struct {
	kind stepKind
	line int
	// m is the motion or dwell; of a word only where it stands, and the power.
	m machine.Move
	// overXY tells a motion over XY: one with a length there, or one from or
	// to an unknown place.
	overXY bool
	// known tells whether all axes are known after it, and findsZ that Z was
	// not before.
	known, findsZ bool
	// beam is that during the step, at the end of the program that after it.
	beam machine.Beam
	// inches and inverse are the modes of G20 and G93.
	inches, inverse bool
	// word is the number of an M word, and optional whether its line begins
	// with "/".
	word     int64
	optional bool
	// stops tells a word that acts after motion: one that waits or ends the
	// program.
	stops bool
}

type stepKind uint8

const (
	atEnd stepKind = iota
	motion
	dwell
	word
)

// standing tells a motion of the focus alone, or a mark without length.
func (s *step) standing() bool { return s.kind == motion && !s.overXY }

// lit reports whether the beam is on while nothing is burned: in a travel, or
// at a word that waits or ends the program.
func (s *step) lit() bool {
	return s.beam == machine.On && (s.kind == motion && !s.m.Burn || s.stops)
}

// ends reports whether the step is a word that ends the program.
func (s *step) ends() bool { return s.kind == word && (s.word == 2 || s.word == 30) }

// dz is how far Z rises.
func (s *step) dz() float64 { return s.m.To.Z - s.m.From.Z }

// noWord is before the first M word of a group.
const noWord = -1

// stream gives a program step by step: M words, then the motion or dwell of
// their line, then the words that stop a program, as RS274 3.8 has them act.
// M words that repeat what is in force are left out, and so are motions that
// do not move and do not burn.
type stream struct {
	r  *program.Reader
	ip *machine.Interpreter

	blocks, last int // how many there were, and the line of the last
	// Of the block under way.
	b       *program.Block
	cur     step
	did     machine.Actions
	pending bool // cur has not been given yet
	at      int  // the next word to look at
	after   bool // at counts the words that stop

	withoutBeam  bool // beam words are left out
	beam, cooler int64
}

func newStream(r io.Reader, name string, cfg machine.Config, withoutBeam bool) *stream {
	return &stream{
		r:           program.NewReader(r, name),
		ip:          machine.New(cfg),
		withoutBeam: withoutBeam,
		beam:        noWord,
		cooler:      noWord,
	}
}

// next fills s with the next step. At the end its kind is atEnd, time and
// again.
func (st *stream) next(s *step) error {
	for {
		if st.b != nil {
			if st.step(s) {
				return nil
			}
			st.b = nil
		}
		b, err := st.r.Next()
		if errors.Is(err, io.EOF) {
			*s = step{kind: atEnd, line: st.last, beam: st.ip.State().Beam}
			return nil
		}
		if err != nil {
			return err
		}
		st.blocks++
		st.last = b.Line
		before := st.ip.State()
		st.cur = step{line: b.Line}
		if err := st.ip.Step(b, &st.cur.m); err != nil {
			return err
		}
		now := st.ip.State()
		during := st.ip.During()
		st.take(b, &before, &during, &now)
	}
}

// take begins a block.
func (st *stream) take(b *program.Block, before, during, now *machine.State) {
	st.b, st.did, st.at, st.after = b, st.ip.Actions(), 0, false
	c := &st.cur
	c.known, c.findsZ = now.XKnown && now.YKnown && now.ZKnown, now.ZKnown && !before.ZKnown
	c.beam, c.inches, c.inverse = during.Beam, during.Inches, during.InverseTime
	switch m := &c.m; m.Kind {
	case machine.Dwell:
		c.kind, st.pending = dwell, true
	case machine.Line, machine.Arc:
		c.kind = motion
		c.overXY = m.Length > 0 || now.XKnown != before.XKnown || now.YKnown != before.YKnown ||
			m.Lost&(machine.AxisX|machine.AxisY) != 0
		st.pending = c.overXY || m.Burn || c.dz() != 0 || m.Lost != 0 || c.findsZ
	default:
		st.pending = false
	}
}

// step gives what is left of the block under way, if anything is.
func (st *stream) step(s *step) bool {
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

// words gives the next M word of the block that counts.
func (st *stream) words(s *step) bool {
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
		*s = step{kind: word, line: st.b.Line, word: m, optional: st.b.Optional, stops: st.after, beam: st.cur.beam}
		s.m.From, s.m.To, s.m.Power, s.m.PowerFollows = st.cur.m.To, st.cur.m.To, st.cur.m.Power, st.cur.m.PowerFollows
		return true
	}
	return false
}
