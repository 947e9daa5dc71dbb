package probe

import (
	"io"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// Area is what a program burns, in program XY, mm.
type Area struct {
	Burns  orb.MultiLineString // arcs as chords
	Bound  orb.Bound
	Count  int
	Length float64
}

// chordMM is how far a chord may be off its arc: far below any margin.
const chordMM = 0.05

// ReadArea reads a program's burns. Errors are those of package stream.
func ReadArea(r io.Reader, name string, cfg machine.Config) (*Area, error) {
	a := &Area{}
	source := stream.New(r, stream.Options{Name: name, Machine: cfg, Blocks: true})
	return a, source.Each(func(it *stream.Item) error {
		if it.Move.Burn {
			a.add(&it.Move)
		}
		source.Done(it)
		return nil
	})
}

func (a *Area) add(m *machine.Move) {
	n := 1
	if m.Kind == machine.Arc {
		// A chord over the angle t is off by r(1-cos(t/2)), about r t²/8.
		r := max(m.R0, m.R1)
		step := math.Sqrt(8 * chordMM / max(r, chordMM))
		n = max(int(math.Ceil(math.Abs(m.Sweep)/step)), 1)
	}
	line := orb.LineString{m.XY(0)}
	for k := 1; k <= n; k++ {
		line = append(line, m.XY(float64(k)/float64(n)))
	}
	// A zero Bound would grow to the origin.
	if a.Count == 0 {
		a.Bound = line.Bound()
	} else {
		a.Bound = a.Bound.Union(line.Bound())
	}
	a.Count++
	a.Length += m.Length
	if last := len(a.Burns) - 1; last >= 0 && a.Burns[last][len(a.Burns[last])-1] == line[0] {
		a.Burns[last] = append(a.Burns[last], line[1:]...)
		return
	}
	a.Burns = append(a.Burns, line)
}
