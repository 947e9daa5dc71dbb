package probe

import (
	"io"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// chordMM is how far a chord may be off its arc: far below any margin.
const chordMM = 0.05

// ReadBurns reads what a program burns, in program XY, mm, arcs as chords. Errors
// are those of package stream.
func ReadBurns(r io.Reader, name string, cfg machine.Config) (burns orb.MultiLineString, err error) {
	err = stream.Scan(r, stream.Options{Name: name, Machine: cfg, Blocks: true}, func(it *stream.Item) {
		if it.Move.Burn {
			burns = appendBurn(burns, &it.Move)
		}
	})
	return burns, err
}

// appendBurn goes on with the last line where the burn begins at its end.
func appendBurn(burns orb.MultiLineString, m *machine.Move) orb.MultiLineString {
	n := 1
	if m.Kind == machine.Arc {
		// A chord over the angle t is off by r(1-cos(t/2)), about r t²/8.
		step := math.Sqrt(8 * chordMM / max(m.R0, m.R1, chordMM))
		n = max(int(math.Ceil(math.Abs(m.Sweep)/step)), 1)
	}
	last := len(burns) - 1
	if begin := orb.Point(m.XY(0)); last < 0 || burns[last][len(burns[last])-1] != begin {
		burns = append(burns, orb.LineString{begin})
		last++
	}
	for k := 1; k <= n; k++ {
		burns[last] = append(burns[last], m.XY(float64(k)/float64(n)))
	}
	return burns
}
