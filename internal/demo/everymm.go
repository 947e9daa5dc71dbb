package demo

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// LeastStep is the shortest step that EveryMM cuts by, in mm: pieces stay far
// above the last decimal that they are written with.
const LeastStep = 0.05

// EveryMM writes the program to w as it is followed without any thought: each
// burn is cut every step mm, or a little sooner so that its pieces are alike,
// and the focus axis goes to the height of the surface at the end of every
// move. height gives it in mm at a place in program XY in mm. A Z of the
// program's own is added to it. Feeds stay as they are.
//
// The program is read with machine.DefaultConfig. XY stays the same to the last
// decimal written; pieces of arcs are arcs. points is how many moves are there
// that the program did not have.
//
// Errors are those of packages program and machine, those of w, and one with
// the place for what is not cut: inverse time, a burn that ends the program, a
// height that is not a number. After an error w has a part of the program.
func EveryMM(w io.Writer, src []byte, height func(x, y float64) float64, step float64) (points int, err error) {
	if !(step >= LeastStep) || math.IsInf(step, 1) {
		return 0, fmt.Errorf("a step of %g mm: give at least %g mm", step, LeastStep)
	}
	c := &cutter{height: height, step: step}
	ip := machine.New(machine.DefaultConfig())
	r := program.NewReader(bytes.NewReader(src), "")
	var m machine.Move
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return c.points, nil
		}
		if err != nil {
			return c.points, err
		}
		if err := ip.Step(b, &m); err != nil {
			return c.points, err
		}
		if err := c.block(b, &m, ip.State()); err != nil {
			return c.points, err
		}
		if _, err := w.Write(c.out); err != nil {
			return c.points, err
		}
	}
}

// cutter cuts blocks.
type cutter struct {
	height func(x, y float64) float64
	step   float64
	// z is where the focus axis stands as written, in mm.
	z      float64
	points int

	out     []byte
	changes []program.Change
}

// block puts into out what stands in place of the block.
func (c *cutter) block(b *program.Block, m *machine.Move, after machine.State) error {
	c.out = c.out[:0]
	if m.Kind != machine.Line && m.Kind != machine.Arc || !after.XKnown || !after.YKnown {
		c.out = append(c.out, b.Raw...)
		if c.z += m.To.Z - m.From.Z; !after.Relative {
			if _, said := b.Find('Z'); said {
				c.z = m.To.Z
			}
		}
		return nil
	}
	n := c.pieces(m)
	if why := uncut(b, after, n); why != "" {
		return fmt.Errorf("%v: %s", b.Place(b.Words[0].Start), why)
	}
	ws := words{b: b, m: m, relative: after.Relative, unit: 1, dec: decimals}
	if after.Inches {
		ws.unit, ws.dec = mmPerInch, decimalsInch
	}
	for k := 1; k <= n; k++ {
		at := m.XY(float64(k) / float64(n))
		z := c.height(at[0], at[1])
		if math.IsNaN(z) || math.IsInf(z, 0) {
			return fmt.Errorf("%v: no height at X%.3f Y%.3f", b.Place(b.Words[0].Start), at[0], at[1])
		}
		z += m.From.Z + (m.To.Z-m.From.Z)*float64(k)/float64(n)
		c.changes = c.changes[:0]
		if n > 1 {
			c.changes = ws.appendXY(c.changes, k, n)
		}
		c.changes = append(c.changes, program.Change{Letter: 'Z', Num: c.goTo(z, &ws)})
		if n > 1 && m.Kind == machine.Arc {
			c.changes = ws.appendRadius(c.changes)
		}
		if k > 1 {
			c.out = program.AppendBlock(c.out, b, c.changes)
			continue
		}
		c.out = program.AppendChanged(c.out, b, c.changes)
		if n > 1 && len(b.EOL()) == 0 {
			c.out = append(c.out, b.NewEOL()...)
		}
	}
	c.points += n - 1
	return nil
}

// pieces tells into how many pieces a move is cut.
func (c *cutter) pieces(m *machine.Move) int {
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

// uncut tells why a block cannot be cut, or nothing.
func uncut(b *program.Block, after machine.State, n int) string {
	if n > 1 && after.InverseTime {
		return "burns in inverse time (G93) are not cut"
	}
	for _, w := range b.Each('M') {
		switch w.Num.Trim() {
		case program.Int(0), program.Int(1), program.Int(2), program.Int(30), program.Int(60):
			return "a move on a line that stops the program is not cut"
		}
	}
	return ""
}

// goTo gives the word that brings the focus axis to z mm.
func (c *cutter) goTo(z float64, ws *words) program.Number {
	if ws.relative {
		z -= c.z
	}
	num := program.Round(z/ws.unit, ws.dec)
	if z = num.Float() * ws.unit; ws.relative {
		z += c.z
	}
	c.z = z
	return num
}
