package rewrite

import (
	"bytes"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// offWord is the word that puts the beam off.
func (o *Options) offWord() program.Number { return program.Int(int64(o.Machine.BeamOff[0])) }

// dim notes that the beam is off throughout a rehearsal.
func (o *Options) dim(have *machine.State) {
	if o.Rehearsal {
		have.BeamWord, have.BeamLit, have.BeamFollows = o.Machine.BeamOff[0], false, false
	}
}

// unlit gives the number that a word which lets the beam fire has in a rehearsal,
// and reports whether it is one.
func (o *Options) unlit(letter byte, num program.Number) (program.Number, bool) {
	switch {
	case !o.Rehearsal:
	case letter == 'M':
		for _, on := range o.Machine.BeamOn {
			if num.Cmp(program.Int(int64(on))) == 0 {
				return o.offWord(), true
			}
		}
	case letter == o.Machine.PowerWord:
		return program.Int(0), num.Mant != 0
	}
	return num, false
}

// Check refuses an item that cannot be rewritten: the marker of an earlier run
// and, unless ramps are kept, a burn along which Z changes, since its program
// has followed a surface before (one of Z alone tells nothing: it marks or plunges in
// place); and in a rehearsal an M word that is not known,
// which may fire. The error is a *diag.Error.
func (o *Options) Check(it *stream.Item) error {
	b := &it.Block
	if b.Comment >= 0 && isMarker(string(bytes.TrimLeft(b.Body()[b.Comment:], "(; \t"))) {
		return b.Unsupported(b.Comment, "this program has followed a surface before", "start from the program it was made from")
	}
	if m := &it.Move; m.Burn && !o.KeepRamps && m.Length > 0 && m.From.Z != m.To.Z {
		at := 0
		if z := it.Actions.Z.In(b); z != nil {
			at = z.Start
		}
		return b.Unsupported(at, "Z changes within a burn: the program has probably followed a surface before",
			"start from the program it was made from, or allow it with --keep-ramps")
	}
	if !o.Rehearsal {
		return nil
	}
	for i := range b.Words {
		w := &b.Words[i]
		if n, whole := w.Num.At(0); whole && slices.Contains(o.Harmless, int(n.Mant)) {
			continue
		}
		if it.Actions.Unknown.Has(i) || it.Actions.Passed.Has(i) && spindle(w.Num) {
			return b.Unsupported(w.Start, "M"+w.Num.Trim().String()+" is not known, and a rehearsal passes nothing that could fire",
				"take the line out, or name the word in the machine profile: in beam_on or beam_off if it is the beam's, in harmless if it can fire nothing")
		}
	}
	return nil
}

// spindle reports whether an M word turns a spindle on where it is none of the
// beam's: what is switched by it then is not known.
func spindle(n program.Number) bool {
	return n.Cmp(program.Int(3)) == 0 || n.Cmp(program.Int(4)) == 0
}
