package corridor

import (
	"math"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// drawing says what kind of gates are drawn.
type drawing struct {
	burns  bool // all burn
	limits bool // some have limits, which heights may lie beyond
	close  bool // cuts may have no room
	// rated: travels can be lengthened as much as a rate asks for.
	rated bool
	// kinds: burns are of some, each with a depth and a part to spend, none deeper than
	// the terms.
	kinds *Terms
}

// drawGates draws gates that like to touch, to coincide and to crowd: moves of
// one to seven gates, in runs of burns and travels, over heights that step, with
// nothing to serve here and there.
func drawGates(t *rapid.T, d drawing) []Gate {
	first := Open()
	gates := []Gate{first}
	h, burn := 0.0, d.burns
	for range rapid.IntRange(1, 12).Draw(t, "moves") {
		if !d.burns {
			burn = rapid.Bool().Draw(t, "burn")
		}
		n := rapid.IntRange(1, 7).Draw(t, "gates")
		length := rapid.SampledFrom([]float64{5, 80, 1000}).Draw(t, "length")
		if d.close {
			length = rapid.SampledFrom([]float64{0.06, 0.15, 0.3, 5}).Draw(t, "close")
		}
		slow := rapid.Bool().Draw(t, "slow")
		kind := Gate{Min: math.Inf(-1), Max: math.Inf(1), Top: math.Inf(-1)}
		if s := d.kinds; s != nil {
			kind.Depth = s.Depth
			part := func(label string) float64 {
				return rapid.SampledFrom([]float64{0.2, 0.5, 1, 1}).Draw(t, label)
			}
			kind.Depth.Near *= part("nearer")
			kind.Depth.Far *= part("further")
			kind.Use = rapid.SampledFrom([]float64{0, 0.2, 1}).Draw(t, "spend")
			gates[len(gates)-1].Meets = burn && gates[len(gates)-1].Burn
		}
		serve := func(g *Gate) {
			wide := rapid.SampledFrom([]float64{0, 0, 1e-12, 0.01, 0.2}).Draw(t, "wide")
			low := math.Inf(1)
			if burn {
				low = h - wide
			}
			if !burn && rapid.IntRange(0, 5).Draw(t, "nothing") == 0 {
				return
			}
			asks := kind
			asks.High, asks.Low = h, low
			g.Take(&asks)
		}
		serve(&gates[len(gates)-1])
		for k := 1; k <= n; k++ {
			g := Open()
			g.DT = rapid.SampledFrom([]float64{2e-9, 1e-6, 0.01, 0.5, 1, 1, 30}).Draw(t, "dt")
			if d.rated {
				g.DT = max(g.DT, 1e-5)
			}
			g.S, g.Length, g.Burn, g.Slow = float64(k)/float64(n), length, burn, burn && slow
			h += rapid.SampledFrom([]float64{-1, -0.25, 0, 0, 0.25, 1, 1e-12}).Draw(t, "dh")
			serve(&g)
			if d.limits && rapid.IntRange(0, 5).Draw(t, "limit") == 0 {
				g.Limit(h-rapid.SampledFrom([]float64{-0.5, 0, 0.5, 2}).Draw(t, "min"), h+rapid.SampledFrom([]float64{0, 0.5, 2}).Draw(t, "max"))
			}
			gates = append(gates, g)
		}
	}
	return gates
}

// drawSettings draws settings for a rate, or for none.
func drawSettings(t *rapid.T, rated bool) Terms {
	side := func(label string) float64 {
		return rapid.SampledFrom([]float64{0.1, 0.5, 1, 1, 3}).Draw(t, label)
	}
	s := Terms{
		Depth: focus.Depth{Near: side("near"), Far: side("far")}, Slowest: 0.5,
		Use:  rapid.SampledFrom([]float64{0.05, 0.5, 1}).Draw(t, "use"),
		Rest: rapid.SampledFrom([]float64{0, 0, 0.3}).Draw(t, "rest"),
	}
	if rated {
		s.Rate = rapid.SampledFrom([]float64{0.02, 0.3, 2}).Draw(t, "rate")
	}
	return s
}

// drawStart draws a start as a window before may have left it: anywhere in the
// spent tube.
func drawStart(t *rapid.T, s *Terms, first *Gate) Start {
	w := first.Window(s.Depth, s.Use)
	if w.Empty() || rapid.Bool().Draw(t, "free") {
		return Start{Free: true, C: s.Rest}
	}
	lo, hi := max(w.Lo, -2), min(w.Hi, 2)
	return Start{C: lo + max(0, hi-lo)*rapid.SampledFrom([]float64{0, 0.02, 0.5, 1}).Draw(t, "start"),
		Peak: rapid.SampledFrom([]float64{0, 0.1, 1}).Draw(t, "peak")}
}

// times are when the gates are reached at the programmed feed.
func times(gates []Gate) []float64 {
	t := make([]float64, len(gates))
	for k := 1; k < len(gates); k++ {
		t[k] = t[k-1] + gates[k].DT
	}
	return t
}
