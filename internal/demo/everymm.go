package demo

import (
	"bytes"
	"fmt"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// decimals of X, Y and Z in mm, as the chart has them. The radius of an arc
// gets one more: its ends are rounded, and it has to reach both.
const decimals = 3

// EveryMM gives the chart as it is followed without any thought: each burn is
// cut every step mm, or a little sooner so that its pieces are alike, and the
// focus axis goes to the height of the surface at the end of every move.
// height gives it in mm at a place in program XY in mm. Feeds stay as they
// are, and pieces of arcs are arcs. points is how many moves are there that
// the chart does not have.
//
// The error says where there is no height.
func EveryMM(height func(x, y float64) float64, step float64) (cut []byte, points int, err error) {
	c := &subdivider{height: height, step: step, out: make([]byte, 0, 2*len(chart))}
	source := stream.New(bytes.NewReader(Program()), stream.Options{Machine: machine.DefaultConfig(), Blocks: true})
	err = source.Each(func(it *stream.Item) error {
		defer source.Done(it)
		if it.Moves() {
			return c.cut(it)
		}
		c.out = append(c.out, it.Block.Raw...)
		return nil
	})
	return c.out, c.points, err
}

// subdivider cuts the moves of the chart.
type subdivider struct {
	height func(x, y float64) float64
	step   float64
	// written is where the head stands by the words written, in mm: relative
	// words count from there, so that what rounding takes is not lost.
	written [3]float64
	points  int
	out     []byte
	words   []program.Change
}

// cut writes the pieces of a move.
func (c *subdivider) cut(it *stream.Item) error {
	b, m, n := &it.Block, &it.Move, c.pieces(&it.Move)
	for k := 1; k <= n; k++ {
		at := m.XY(float64(k) / float64(n))
		z := c.height(at[0], at[1])
		if math.IsNaN(z) {
			return fmt.Errorf("%v: no height at X%.3f Y%.3f", b.Place(b.Words[0].Start), at[0], at[1])
		}
		c.words = c.words[:0]
		for axis, v := range [3]float64{at[0], at[1], z} {
			letter := "XYZ"[axis]
			_, said := b.Find(letter)
			if num := c.goTo(axis, v, it.After.Relative); said || letter == 'Z' || n > 1 && m.Kind == machine.Arc {
				c.words = append(c.words, program.Change{Letter: letter, Num: num})
			}
		}
		if n > 1 && m.Kind == machine.Arc {
			c.words = append(c.words, program.Change{Letter: 'I', Drop: true}, program.Change{Letter: 'J', Drop: true},
				program.Change{Letter: 'R', Num: program.Round((m.R0+m.R1)/2, decimals+1)})
		}
		if k == 1 {
			c.out = program.AppendChanged(c.out, b, c.words)
		} else {
			c.out = program.AppendBlock(c.out, b, c.words)
		}
	}
	c.points += n - 1
	return nil
}

// pieces gives into how many pieces a move is cut.
func (c *subdivider) pieces(m *machine.Move) int {
	// A length that is a whole number of steps but for roundoff makes no
	// piece more.
	const slack = 1e-9
	if !m.Burn || m.Length <= c.step {
		return 1
	}
	n := int(math.Ceil(m.Length/c.step - slack))
	if m.Kind == machine.Arc {
		// Arcs by their radius are sure of their centre up to some way
		// under half a turn.
		n = max(n, int(math.Ceil(math.Abs(m.Sweep)/(math.Pi/2)-slack)))
	}
	return n
}

// goTo gives the word that brings an axis to v mm.
func (c *subdivider) goTo(axis int, v float64, relative bool) program.Number {
	if relative {
		v -= c.written[axis]
	}
	num := program.Round(v, decimals)
	if v = num.Float(); relative {
		v += c.written[axis]
	}
	c.written[axis] = v
	return num
}
