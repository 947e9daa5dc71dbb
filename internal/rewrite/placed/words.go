package placed

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// place notes what becomes of the words of a motion. st is what is in force during it.
func (c *composer) place(b *program.Block, did *machine.Actions, st machine.State, m *machine.Move) error {
	if did.G[machine.NonModal] != 0 || did.X|did.Y|did.I|did.J|did.R == 0 {
		return nil
	}
	was := c.at
	if err := c.ends(b, did, &st, m); err != nil {
		return err
	}
	if m.Kind == machine.Arc {
		c.centre(b, did, &st, m, was)
	}
	return nil
}

// ends notes the words of where a motion leads to.
func (c *composer) ends(b *program.Block, did *machine.Actions, st *machine.State, m *machine.Move) error {
	x, y := c.turn.point(m.To)
	to := [2]int64{x, y}
	said := [2]bool{did.X != 0, did.Y != 0}
	switch {
	case !said[0] && !said[1]:
		return nil
	case c.turn.quarters < 0:
		if !st.XKnown || !st.YKnown {
			return b.Unsupported(b.Words[0].Start, "a motion to a place of which X or Y is not known cannot be turned", "begin the program with a travel to X and Y, or say with --start where it starts")
		}
		said = [2]bool{true, true}
	case c.turn.swaps():
		said[0], said[1] = said[1], said[0]
		for _, r := range []struct {
			has  machine.Ref
			also bool
		}{{did.X, said[0]}, {did.Y, said[1]}} {
			if r.has != 0 && !r.also {
				c.changes = append(c.changes, program.DropWord(int(r.has)-1))
			}
		}
	}
	for axis, letter := range [2]byte{'X', 'Y'} {
		if !said[axis] {
			continue
		}
		written := c.rounded(to[axis], st.Inches)
		num := c.number(to[axis], st.Inches)
		if st.Relative {
			num = program.Number{Mant: int64(math.RoundToEven(float64(written-c.at[axis]) / float64(c.step(st.Inches)))), Dec: c.decimals(st.Inches)}
			written = c.at[axis] + num.Mant*c.step(st.Inches)
		}
		c.set(b, letter, num)
		c.at[axis], c.known[axis] = written, true
	}
	return nil
}

// finer is how many more decimals a centre is written with than places are: so its own
// rounding leaves the radii at both ends alike.
const finer = 2

// centre notes the words of an arc's centre, from was, where it begins. Where it is turned
// by no quarter R becomes I and J: of half a turn it does not tell where the centre is.
func (c *composer) centre(b *program.Block, did *machine.Actions, st *machine.State, m *machine.Move, was [2]int64) {
	num := func(r machine.Ref) program.Number {
		if w := r.In(b); w != nil {
			return w.Num
		}
		return program.Number{}
	}
	minus := func(n program.Number) program.Number { return program.Number{Mant: -n.Mant, Dec: n.Dec} }
	i, j := num(did.I), num(did.J)
	switch {
	case c.turn.quarters == 0 || did.R != 0 && c.turn.quarters > 0:
		return
	case c.turn.quarters == 1:
		i, j = minus(j), i
	case c.turn.quarters == 2:
		i, j = minus(i), minus(j)
	case c.turn.quarters == 3:
		i, j = j, minus(i)
	default:
		x, y := c.turn.point(machine.Point{X: m.CX, Y: m.CY})
		unit, dec := c.unit(st.Inches)*unitsPerMM, min(c.decimals(st.Inches)+finer, mostDecimals)
		i, j = program.Round(float64(x-was[0])/unit, dec), program.Round(float64(y-was[1])/unit, dec)
		if did.R != 0 {
			c.changes = append(c.changes, program.DropWord(int(did.R)-1))
		}
		c.set(b, 'I', i)
		c.set(b, 'J', j)
		return
	}
	for _, w := range []struct {
		letter byte
		n      program.Number
		has    machine.Ref
		from   bool // the word that comes here is on the block
	}{{'I', i, did.I, c.turn.quarters == 2 && did.I != 0 || c.turn.swaps() && did.J != 0}, {'J', j, did.J, c.turn.quarters == 2 && did.J != 0 || c.turn.swaps() && did.I != 0}} {
		switch {
		case w.from:
			c.set(b, w.letter, w.n)
		case w.has != 0:
			c.changes = append(c.changes, program.DropWord(int(w.has)-1))
		}
	}
}
