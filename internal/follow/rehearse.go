package follow

import (
	"sagitta/internal/program"
)

// beamWord tells whether the block has a word that puts the beam on.
func (w *writer) beamWord(b *program.Block) bool {
	for _, wd := range b.Words {
		if wd.Letter == 'M' && w.isBeamOn(wd.Num) {
			return true
		}
	}
	return false
}

func (w *writer) isBeamOn(n program.Number) bool {
	for _, m := range w.opt.Machine.BeamOn {
		if n.Cmp(program.Int(int64(m))) == 0 {
			return true
		}
	}
	return false
}

// off is the word that puts the beam off.
func (w *writer) offWord() program.Number { return program.Int(int64(w.opt.Machine.BeamOff[0])) }

// sayDark puts the beam off before anything moves.
func (w *writer) sayDark(b *program.Block) {
	w.dark = true
	w.mark(b)
	w.add(b, []program.Change{{Letter: 'M', Num: w.offWord()}})
}

// darken adds the changes that keep the beam off through the block.
func (w *writer) darken(b *program.Block) {
	for i, wd := range b.Words {
		switch {
		case wd.Letter == 'M' && w.isBeamOn(wd.Num):
			w.ch = append(w.ch, program.SetWord(i, w.offWord()))
		case wd.Letter == w.opt.Machine.PowerWord && wd.Num.Mant != 0:
			w.ch = append(w.ch, program.SetWord(i, program.Int(0)))
		}
	}
}

// darkenChanges does the same for the words of an added block.
func (w *writer) darkenChanges() {
	for i := range w.ch {
		c := &w.ch[i]
		switch {
		case c.Letter == 'M' && w.isBeamOn(c.Num):
			c.Num = w.offWord()
		case c.Letter == w.opt.Machine.PowerWord:
			c.Num = program.Int(0)
		}
	}
}
