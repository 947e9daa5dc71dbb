package follow

import (
	"bytes"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// MarkerName begins every marker; a program that carries one was written by
// this tool.
const MarkerName = "sagitta"

// markerVerbs are the words after the version by which a marker tells that
// the program carries a correction.
var markerVerbs = []string{" follow ", " split "}

// followedBefore tells whether the block is the marker of an earlier run.
func followedBefore(b *program.Block) bool {
	if b.Comment < 0 {
		return false
	}
	return marks(string(bytes.TrimLeft(b.Body()[b.Comment:], "(; \t")))
}

// marks tells whether the text of a comment is a marker.
func marks(text string) bool {
	if !strings.HasPrefix(text, MarkerName+" ") {
		return false
	}
	for _, v := range markerVerbs {
		if strings.Contains(text, v) {
			return true
		}
	}
	return false
}

func followedError(name string, b *program.Block) error {
	p := b.Place(b.Comment)
	p.File = name
	return &diag.Error{Kind: diag.Unsupported, Place: p,
		What: "this program has followed a surface before",
		Hint: "start from the program it was made from"}
}

func rampError(name string, b *program.Block) error {
	at := 0
	for _, letter := range []byte("ZUVWA") {
		if z, ok := b.Find(letter); ok {
			at = z.Start
			break
		}
	}
	p := b.Place(at)
	p.File = name
	return &diag.Error{Kind: diag.Unsupported, Place: p,
		What: "Z changes within a burn: the program has probably followed a surface before",
		Hint: "start from the program it was made from, or allow it with --keep-ramps"}
}

// rehearsed are the M words, besides those of the beam, that a rehearsal
// passes: stops, ends, tool, air and coolant, overrides, line numbers and
// texts. None of them can fire.
var rehearsed = []int64{0, 1, 2, 5, 6, 7, 8, 9, 30, 48, 49, 60, 110, 117, 118}

// CheckRehearsal refuses a block of a program to be rehearsed that has an M word
// which is not known: on this controller it may fire. The error is a
// *diag.Error.
func CheckRehearsal(name string, b *program.Block, cfg *machine.Config) error {
	for _, w := range b.Each('M') {
		n, whole := w.Num.At(0)
		if whole && (slices.Contains(rehearsed, n.Mant) || slices.Contains(cfg.BeamOn, int(n.Mant)) || slices.Contains(cfg.BeamOff, int(n.Mant))) {
			continue
		}
		p := b.Place(w.Start)
		p.File = name
		return &diag.Error{Kind: diag.Unsupported, Place: p,
			What: "M" + w.Num.Trim().String() + " is not known, and a rehearsal passes nothing that could fire",
			Hint: "take the line out, or name the word in beam_on or beam_off of the machine profile if it is the beam's"}
	}
	return nil
}
