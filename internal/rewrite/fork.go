package rewrite

import (
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// Fork returns a pen that writes to w what is to follow once this one stands at a
// place and Z of its own, in G90, with the beam off, and has waited: see Append.
func (p *Pen) Fork(w io.Writer, at machine.Point) *Pen {
	f := *p
	f.sink, f.Figures, f.ch, f.line, f.jumped = newSink(w, p.opt.Gather), Figures{}, nil, stream.Item{}, true
	f.off = snapped(at.Z - f.src.At.Z)
	f.marked = true // by the stop before it
	h := &f.have
	h.At, h.XKnown, h.YKnown = at, true, true
	h.Motion, h.Relative, f.feed = unknownMotion, false, program.Number{}
	if h.BeamWord != machine.NoBeam {
		h.BeamWord, h.BeamLit = p.opt.Machine.BeamOff[0], false
	}
	if h.PowerSaid {
		h.Power = program.Int(0)
	}
	f.style = style{}
	if last := p.style.block(); last != nil {
		f.style.keepBlock(last)
	}
	return &f
}

// unknownMotion is a motion mode that no block relies on.
const unknownMotion = -1

// Append goes on with what a fork of this pen, which has finished, has written:
// body. The modes that were in force where it forked, and its place, must be in
// force again.
func (p *Pen) Append(fork *Pen, body io.Reader) error {
	if err := p.appendLines(fork, body); err != nil {
		return err
	}
	p.src, p.have, p.off, p.c, p.feed, p.jumped = fork.src, fork.have, fork.off, fork.c, fork.feed, fork.jumped
	p.stopped, p.open, p.style = fork.stopped, fork.open, fork.style
	p.marked, p.dark = p.marked || fork.marked, p.dark || fork.dark
	p.Figures.Changed += fork.Figures.Changed
	p.Figures.Added += fork.Figures.Added
	p.Figures.SecondsOut += fork.Figures.SecondsOut
	return p.sink.err
}

// appendLines writes the lines of body, numbered anew where they have checksums.
func (p *Pen) appendLines(fork *Pen, body io.Reader) error {
	like := p.style.block()
	if like != nil {
		p.sink.begin(like)
	}
	if like == nil || !like.Checked() {
		p.numbers = fork.numbers
		_, err := io.Copy(&p.sink, body)
		return err
	}
	r := program.NewReader(body, p.opt.Name)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		p.ch = p.ch[:0]
		p.write(b)
	}
}

// LineCount returns how many lines have been written.
func (p *Pen) LineCount() int { return p.sink.lineCount() }
