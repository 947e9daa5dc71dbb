package follow_test

import (
	"errors"
	"io"
	"math"
	"strings"

	"pgregory.net/rapid"

	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// burnMoves are the burns over XY of a program by F, in order.
func burnMoves(t *rapid.T, text string, cfg machine.Config) (all []machine.Move) {
	ip, r := machine.New(cfg), program.NewReader(strings.NewReader(text), "read")
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return all
		}
		var m machine.Move
		if err == nil {
			err = ip.Step(b, &m)
		}
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if m.Burn && m.Length > 0 && !m.Rapid {
			all = append(all, m)
		}
	}
}

// holdDose holds what a followed program burns on each mm to the original: power over
// speed, by what both programs say, or the power alone where the source makes it of
// the speed. It counts the burns that are slower.
func holdDose(t *rapid.T, original, followed string, opt *follow.Options, slower *int) {
	const within, near = 0.01, 0.01 // near is how far the length of cut pieces may be off theirs
	rest := burnMoves(t, followed, opt.Machine)
	for _, o := range burnMoves(t, original, opt.Machine) {
		for left := o.Length; left > near || left > 0 && left == o.Length; {
			if len(rest) == 0 {
				t.Fatalf("a burn of %g mm is missing\n%s\n%s", left, original, followed)
			}
			m := rest[0]
			rest, left = rest[1:], left-m.Length
			part := m.Length / m.Seconds / (o.Length / o.Seconds)
			if part > 1-within/2 {
				part = 1
			} else {
				*slower++
			}
			want := o.Power * part
			if opt.PowerBySpeed && o.PowerFollows {
				want, part = o.Power, 1
			}
			slack := want * within
			if m.Kind == machine.Arc {
				slack *= 1 + 0.2/min(m.R0, m.R1)
			}
			if m.Length < 0.2 {
				slack *= 1 + 0.3/m.Length
			}
			if math.Abs(m.Power-want) > slack || part < 1-within && o.Power == 0 {
				t.Fatalf("power %g, not %g, at %g of the speed, to X%g Y%g\n--- original\n%s\n--- followed\n%s",
					m.Power, want, part, m.To.X, m.To.Y, original, followed)
			}
			if least := opt.PowerLeast; m.Power < least*(1-1e-9) && m.Power < o.Power {
				t.Fatalf("power %g of %g, least %g\n--- original\n%s\n--- followed\n%s", m.Power, o.Power, least, original, followed)
			}
		}
	}
}
