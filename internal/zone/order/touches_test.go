package order

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func touchesOf(t *rapid.T, j *Job) *touches {
	c := &touches{pl: newPlane(j), figs: j.figures()}
	if !c.find() {
		t.Fatal("too many touches")
	}
	return c
}

// What the grid finds is what holding each piece against each finds, but for what
// follows from others.
func TestTouchesAreAllFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := drawJob(t, 3)
		turn, size := rapid.Float64Range(0, 6).Draw(t, "turn"), rapid.SampledFrom([]float64{0.01, 1, 100}).Draw(t, "size")
		for i := range parts {
			for k, b := range parts[i].burns {
				x0, y0 := turned(b.x0, b.y0, turn, size)
				x1, y1 := turned(b.x1, b.y1, turn, size)
				parts[i].burns[k] = burn{x0, y0, x1, y1}
			}
		}
		j := jobOf(parts, Options{})
		c := touchesOf(t, j)
		n := len(parts)
		got, want := make([][]bool, n), make([][]bool, n)
		for b := range n {
			got[b], want[b] = make([]bool, n), make([]bool, n)
			for a := range b {
				want[b][a] = pairTouches(c, a, b)
			}
			for _, a := range c.pred[c.start[b]:c.start[b+1]] {
				got[b][a] = true
				if !want[b][a] {
					t.Fatalf("%d and %d do not touch", a, b)
				}
			}
		}
		follow(got)
		follow(want)
		for b := range n {
			for a := range b {
				if want[b][a] && !got[b][a] {
					t.Fatalf("%d and %d touch", a, b)
				}
			}
		}
	})
}

func turned(x, y, by, size float64) (float64, float64) {
	sin, cos := math.Sincos(by)
	return size * (x*cos - y*sin), size * (x*sin + y*cos)
}

// follow adds what follows: before[b][a] where a must come before b.
func follow(before [][]bool) {
	for b := range before {
		for m := range b {
			for a := range m {
				before[b][a] = before[b][a] || before[b][m] && before[m][a]
			}
		}
	}
}

func pairTouches(c *touches, a, b int) bool {
	j := c.pl.j
	a0, a1 := j.points(a)
	b0, b1 := j.points(b)
	for k := a0; k < a1; k++ {
		for l := b0; l < b1; l++ {
			s, okS := c.pl.stretch(k)
			o, okO := c.pl.stretch(l)
			if okS && okO && s.touches(o) && !(j.pieces[a].figure == j.pieces[b].figure && c.joins(a, b, s, o)) {
				return true
			}
		}
	}
	return false
}

// Two stretches touch where sampling them says that they certainly do, and not
// where they certainly do not.
func TestStretchesTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := func(name string) float64 {
			return float64(rapid.IntRange(-3, 3).Draw(t, name)) + float64(rapid.IntRange(-9, 9).Draw(t, name))/1000
		}
		p := burn{v("x0"), v("y0"), v("x1"), v("y1")}
		q := burn{v("x2"), v("y2"), v("x3"), v("y3")}
		s, o := stretchOf(p), stretchOf(q)
		if d := apart(p, q); d < 0.0018 && !s.touches(o) {
			t.Fatalf("%g mm apart do not touch", d)
		} else if d > 0.0042 && s.touches(o) {
			t.Fatalf("%g mm apart touch", d)
		}
		if s.touches(o) != o.touches(s) {
			t.Fatal("it is not mutual")
		}
	})
}

func stretchOf(b burn) stretch {
	p, _ := at(b.x0, b.y0)
	q, _ := at(b.x1, b.y1)
	return stretch{p, q}
}

// Pieces of one figure wait for one another only where they meet elsewhere than
// at the ends that join them.
func TestPiecesOfOneFigure(t *testing.T) {
	for _, c := range []struct {
		name   string
		pieces [][]burn
		want   int // pairs that keep their order
	}{
		{"a line in three", [][]burn{{{0, 0, 1, 0}}, {{1, 0, 2, 0}}, {{2, 0, 3, 0}}}, 0},
		{"a box in two", [][]burn{{{0, 0, 9, 0}, {9, 0, 9, 9}}, {{9, 9, 0, 9}, {0, 9, 0, 0}}}, 0},
		{"a box in four", [][]burn{{{0, 0, 9, 0}}, {{9, 0, 9, 9}}, {{9, 9, 0, 9}}, {{0, 9, 0, 0}}}, 0},
		{"there and back", [][]burn{{{0, 0, 9, 0}}, {{9, 0, 0, 0}}}, 1},
		{"a loop", [][]burn{{{0, 0, 9, 0}, {9, 0, 9, 9}}, {{9, 9, 5, 9}, {5, 9, 5, -9}}}, 1},
		{"a box with its end over its start", [][]burn{{{0, 0, 9, 0}, {9, 0, 9, 9}}, {{9, 9, 0, 9}, {0, 9, 0, 0}, {0, 0, 1, 0}}}, 1},
		{"twice round", [][]burn{{{0, 0, 9, 0}, {9, 0, 9, 9}, {9, 9, 0, 0}}, {{0, 0, 9, 0}, {9, 0, 9, 9}, {9, 9, 0, 0}}}, 1},
	} {
		var parts []part
		for k, burns := range c.pieces {
			parts = append(parts, part{zone: k, burns: burns})
		}
		j := jobOf(parts, Options{})
		n := &touches{pl: newPlane(j), figs: j.figures()}
		n.find()
		if len(n.pred) != c.want {
			t.Errorf("%s: %d pairs wait, want %d", c.name, len(n.pred), c.want)
		}
	}
}
