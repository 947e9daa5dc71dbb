package machine

import (
	"iter"
	"math/bits"

	"sagitta/internal/program"
)

// Ref refers to a word of a block; 0 to none.
type Ref uint8

// maxWords is how many words a block may have: far more than there are letters
// and groups.
const maxWords = 64

// refTo refers to word i of the block's Words.
func refTo(i int) Ref { return Ref(i + 1) }

// In returns the word, or nil for none.
func (r Ref) In(b *program.Block) *program.Word {
	if r == 0 {
		return nil
	}
	return &b.Words[r-1]
}

// Set returns the set of the word.
func (r Ref) Set() WordSet { return 1 << r >> 1 }

// first returns the reference to the first of the words in the text.
func first(refs ...Ref) (f Ref) {
	for _, r := range refs {
		if r != 0 && (f == 0 || r < f) {
			f = r
		}
	}
	return f
}

// WordSet is a set of words of a block.
type WordSet uint64

// Has reports whether it has word i of the block's Words.
func (s WordSet) Has(i int) bool { return s>>i&1 != 0 }

// All ranges over the places of the words in Block.Words.
func (s WordSet) All() iter.Seq[int] {
	return func(yield func(int) bool) {
		for rest := s; rest != 0; rest &= rest - 1 {
			if !yield(bits.TrailingZeros64(uint64(rest))) {
				return
			}
		}
	}
}

// first returns a reference to the first of the words.
func (s WordSet) first() Ref {
	if s == 0 {
		return 0
	}
	return refTo(bits.TrailingZeros64(uint64(s)))
}
