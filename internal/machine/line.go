package machine

import "sagitta/internal/program"

// line is a block while it is taken, and what its words do.
type line struct {
	b *program.Block
	Actions
}

// word returns a word of the line, or nil for none.
func (l *line) word(r Ref) *program.Word { return r.In(l.b) }

// mover returns the word that stands for the motion in messages.
func (l *line) mover() *program.Word {
	if r := l.G[MotionMode]; r != 0 {
		return l.word(r)
	}
	return l.word(l.first())
}

// axisWords returns the words of X, Y and Z, nil for none.
func (l *line) axisWords() [3]*program.Word {
	return [3]*program.Word{l.word(l.X), l.word(l.Y), l.word(l.Z)}
}
