package stream

import (
	"sagitta/internal/program"
)

// Kinds tells of which kind burns are.
type Kinds struct {
	// Rule is the number of the rule that counts for a burn, 0 for none: by its line, the
	// number of the tool word in force (-1 before the first), its feed in mm/min and its
	// power as the program says it.
	Rule func(line, tool int, feedMMMin, power float64) int
	// Of are the kinds by rule. Rules that ask for the same are of one kind.
	Of []int
}

// Matched is what a rule has matched of a program.
type Matched struct {
	Burns    int
	LengthMM float64
}

// kinds tells those of a program's burns as it is read.
type kinds struct {
	*Kinds
	matched []Matched // by rule
	tool    int       // the number of the tool word in force, -1 before the first
	// power is what was said for the last of the plain lines that were stepped.
	power float64
}

func newKinds(of *Kinds) kinds {
	k := kinds{Kinds: of, tool: -1}
	if of != nil {
		k.matched = make([]Matched, len(of.Of))
	}
	return k
}

// burn gives the kind of a burn, and counts it.
func (k *kinds) burn(line int, feed, power, length float64) int {
	rule := k.Rule(line, k.tool, feed, power)
	m := &k.matched[rule]
	m.Burns++
	m.LengthMM += length
	return k.Of[rule]
}

// block notes the tool words of an item that is no run, and tells its kind.
func (k *kinds) block(it *Item) {
	if k.Kinds == nil {
		return
	}
	for i := range it.Block.Words {
		if w := &it.Block.Words[i]; w.Letter == 'T' {
			k.tool = int(w.Num.Float())
		}
	}
	m := &it.Move
	if !m.Burn {
		return
	}
	feed := m.Feed
	if it.During.InverseTime && m.Seconds > 0 {
		feed = m.Length / m.Seconds * 60
	}
	it.Kind = k.burn(it.Block.Line, feed, m.Power, m.Length)
}

// plain tells the kinds of the plain lines to the vertices from i on, which begins d mm
// along the path; the first vertex of all is on a line, and all are at a feed.
func (k *kinds) plain(b *Batch, i int, d float64, line int, feed float64) {
	if k.Kinds == nil {
		return
	}
	for ; i < len(b.vertices); i++ {
		v := &b.vertices[i]
		if v.Style.Powered() {
			b.found.SetPlain(&program.Block{}, b.text[b.lineStart(i):v.End], 0, 0)
			if w, has := b.found.Find(b.config.PowerWord); has {
				k.power = w.Num.Float()
			}
		}
		kind := 0
		if v.Burn {
			kind = k.burn(line+i, feed, k.power, v.D-d)
		}
		b.kinds, d = append(b.kinds, kind), v.D
	}
}

// kind is that of the burn to vertex k.
func (b *Batch) kind(k int) int {
	if len(b.kinds) == 0 {
		return 0
	}
	return b.kinds[k]
}
