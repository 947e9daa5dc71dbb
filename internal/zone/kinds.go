package zone

import "sagitta/internal/stream"

// kinds says which burns cut, by the rules that there are.
type kinds struct {
	cuts func(line, tool int, feed, power float64) bool
	tool int         // the number of the tool word in force, -1 before the first
	line stream.Item // a line of a run
}

// pass notes the tool words of an item. None stands between burns of a job that is
// divided.
func (k *kinds) pass(it *stream.Item) {
	if k.cuts == nil || it.IsRun() {
		return
	}
	for i := range it.Block.Words {
		if w := &it.Block.Words[i]; w.Letter == 'T' {
			k.tool = int(w.Num.Float())
		}
	}
}

// cut reports whether a burn cuts, or any of a run of them.
func (k *kinds) cut(it *stream.Item) bool {
	if k.cuts == nil {
		return false
	}
	if !it.IsRun() {
		return k.cutLine(it)
	}
	for i, l := range it.Lines() {
		if l.Burn {
			if it.LineItem(i, &k.line); k.cutLine(&k.line) {
				return true
			}
		}
	}
	return false
}

func (k *kinds) cutLine(it *stream.Item) bool {
	m := &it.Move
	feed := m.Feed
	if it.During.InverseTime && m.Seconds > 0 {
		feed = m.Length / m.Seconds * 60
	}
	return k.cuts(it.Block.Line, k.tool, feed, m.Power)
}
