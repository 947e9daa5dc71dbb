package rewrite

import (
	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// offWord is the word that puts the beam off.
func (p *Pen) offWord() program.Number { return program.Int(int64(p.opt.Machine.BeamOff[0])) }

// sayDark puts the beam off, once, before anything moves in a rehearsal.
func (p *Pen) sayDark(b *program.Block) {
	if !p.opt.Rehearsal || p.dark {
		return
	}
	p.dark = true
	p.mark(b)
	p.add(b, []program.Change{{Letter: 'M', Num: p.offWord()}})
}

// dim notes that the beam is off throughout a rehearsal.
func (p *Pen) dim() {
	if p.opt.Rehearsal {
		p.have.BeamWord, p.have.BeamLit, p.have.Beam = p.opt.Machine.BeamOff[0], false, machine.Off
	}
}

// darken adds the changes that keep the beam off through the block in a rehearsal.
func (p *Pen) darken(b *program.Block) {
	if !p.opt.Rehearsal {
		return
	}
	for i := range b.Words {
		if num, lit := p.unlit(b.Words[i].Letter, b.Words[i].Num); lit {
			p.ch = append(p.ch, program.SetWord(i, num))
		}
	}
}

// darkenAdded does the same for the words of an added block.
func (p *Pen) darkenAdded() {
	if !p.opt.Rehearsal {
		return
	}
	for i := range p.ch {
		if num, lit := p.unlit(p.ch[i].Letter, p.ch[i].Num); lit {
			p.ch[i].Num = num
		}
	}
}

// unlit gives the number that a word which lets the beam fire has in a rehearsal,
// and reports whether it is one.
func (p *Pen) unlit(letter byte, num program.Number) (program.Number, bool) {
	switch letter {
	case 'M':
		for _, on := range p.opt.Machine.BeamOn {
			if num.Cmp(program.Int(int64(on))) == 0 {
				return p.offWord(), true
			}
		}
	case p.opt.Machine.PowerWord:
		return program.Int(0), num.Mant != 0
	}
	return num, false
}

// Check refuses an item that cannot be rewritten: the marker of an earlier run
// and, unless ramps are kept, a burn within which Z changes, since its program
// has followed a surface before; and in a rehearsal an M word that is not known,
// which may fire. The error is a *diag.Error.
func (o *Options) Check(it *stream.Item) error {
	b := &it.Block
	refuse := func(at int, what, hint string) error {
		p := b.Place(at)
		p.File = o.Name
		return &diag.Error{Kind: diag.Unsupported, Place: p, What: what, Hint: hint}
	}
	if Marked(b) {
		return refuse(b.Comment, "this program has followed a surface before", "start from the program it was made from")
	}
	if m := &it.Move; m.Burn && !o.KeepRamps && m.From.Z != m.To.Z {
		at := 0
		if z := it.Actions.Z.In(b); z != nil {
			at = z.Start
		}
		return refuse(at, "Z changes within a burn: the program has probably followed a surface before",
			"start from the program it was made from, or allow it with --keep-ramps")
	}
	if !o.Rehearsal {
		return nil
	}
	for i := range b.Words {
		if w := &b.Words[i]; it.Actions.Unknown.Has(i) || it.Actions.Passed.Has(i) && spindle(w.Num) {
			return refuse(w.Start, "M"+w.Num.Trim().String()+" is not known, and a rehearsal passes nothing that could fire",
				"take the line out, or name the word in beam_on or beam_off of the machine profile if it is the beam's")
		}
	}
	return nil
}

// spindle reports whether an M word turns a spindle on where it is none of the
// beam's: what is switched by it then is not known.
func spindle(n program.Number) bool {
	return n.Cmp(program.Int(3)) == 0 || n.Cmp(program.Int(4)) == 0
}
