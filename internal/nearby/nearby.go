// Package nearby knows which of many places are around each: mathematics.
package nearby

// Count is how many of the others are known to be nearest: two rings of a lattice.
const Count = 24

const (
	// besideAt is how far away a place is beside another: the diagonal of a lattice
	// of width 1, and something to spare.
	besideAt = 1.5
	// besideMost are all those around a node of a lattice.
	besideMost = 8
)

// Places tells what is around places, of which spacing is 1.
type Places struct {
	tree   *tree
	known  [][]int32 // what is nearby, of places that were asked for
	memory []int32
}

// New makes it of places in the plane.
func New(at [][2]float64) *Places { return &Places{tree: newTree(at), known: make([][]int32, len(at))} }

// At is where place k is.
func (n *Places) At(k int) [2]float64 { return n.tree.at[k] }

// Blocks gives all places in blocks of up to most that lie together, none of fewer than
// half of that, and neighbours one after the other. They are not to be changed.
func (n *Places) Blocks(most int) (all [][]int32) {
	var part func(block []int32)
	part = func(block []int32) {
		if len(block) <= max(most, leaf) {
			all = append(all, block)
			return
		}
		mid := len(block) / 2
		part(block[:mid])
		part(block[mid:])
	}
	part(n.tree.order)
	return all
}

// Apart is the square of how far two places are apart.
func (n *Places) Apart(a, b int) float64 { return n.tree.apart(int32(a), int32(b)) }

// Nearest gives up to Count of the places nearest to place k, nearest first, ties by
// their order. It is not to be changed.
func (n *Places) Nearest(k int) []int32 {
	if n.known[k] != nil {
		return n.known[k]
	}
	const block = 1 << 14
	if cap(n.memory)-len(n.memory) < Count {
		n.memory = make([]int32, 0, max(Count, min(Count*len(n.known), block)))
	}
	begin := len(n.memory)
	for _, o := range n.tree.nearest(k, Count) {
		n.memory = append(n.memory, o.k)
	}
	n.known[k] = n.memory[begin:len(n.memory):len(n.memory)]
	return n.known[k]
}

// Beside gives the places next to place k.
func (n *Places) Beside(k int) []int32 {
	around := n.Nearest(k)
	around = around[:min(len(around), besideMost)]
	end := len(around)
	for end > 0 && n.Apart(k, int(around[end-1])) > besideAt*besideAt {
		end--
	}
	return around[:end]
}
