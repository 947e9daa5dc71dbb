package follow

import (
	"bytes"
	"strings"

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
	return &program.UnsupportedError{Place: p,
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
	return &program.UnsupportedError{Place: p,
		What: "Z changes within a burn: the program has probably followed a surface before",
		Hint: "start from the program it was made from, or allow it with --keep-ramps"}
}

// CheckOriginal refuses a block, and the move it makes, of a program that has
// followed a surface before: one that carries the marker of an earlier run or,
// unless ramps are kept, one whose Z changes within a burn. The error is a
// *program.UnsupportedError.
func CheckOriginal(name string, b *program.Block, m *machine.Move, keepRamps bool) error {
	if followedBefore(b) {
		return followedError(name, b)
	}
	if m.Burn && !keepRamps && m.From.Z != m.To.Z {
		return rampError(name, b)
	}
	return nil
}
