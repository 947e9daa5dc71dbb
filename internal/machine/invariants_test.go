package machine

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/program"
)

// tester is what a *testing.T and a *rapid.T have in common.
type tester interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}

// runWith returns the moves of a program that are not Still, and the state
// after it.
func runWith(cfg Config, text string) ([]Move, State, error) {
	r := program.NewReader(strings.NewReader(text), "t.nc")
	ip := New(cfg)
	var moves []Move
	for {
		b, err := r.Next()
		if err == io.EOF {
			return moves, ip.State(), nil
		}
		if err != nil {
			return moves, ip.State(), err
		}
		var m Move
		if err := ip.Step(b, &m); err != nil {
			return moves, ip.State(), err
		}
		if m.Kind != Still {
			moves = append(moves, m)
		} else if m.From != m.To || m.Burn || m.Seconds != 0 || m.Length != 0 {
			return moves, ip.State(), fmt.Errorf("line %d is still, but does something: %+v", b.Line, m)
		}
	}
}

// at is the default bench with the head at a known place.
func at(x, y float64) Config {
	cfg := DefaultConfig()
	cfg.Start, cfg.StartXYKnown = Point{X: x, Y: y}, true
	return cfg
}

// mustRun runs a program that is fine.
func mustRun(t tester, cfg Config, text string) ([]Move, State) {
	t.Helper()
	moves, st, err := runWith(cfg, text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	for i := range moves {
		checkMove(t, &moves[i])
		if i > 0 && moves[i].From != moves[i-1].To {
			t.Errorf("%q: move %d starts at %v, the one before ends at %v", text, i, moves[i].From, moves[i-1].To)
		}
	}
	return moves, st
}

// near reports whether two lengths are the same but for the rounding of floats
// of their size.
func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-12*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// checkMove holds a move to what is true of every move.
func checkMove(t tester, m *Move) {
	t.Helper()
	if m.Seconds < 0 || m.Length < 0 || math.IsNaN(m.Seconds+m.Length) || math.IsInf(m.Seconds+m.Length, 0) {
		t.Errorf("time or length: %+v", m)
	}
	if m.Rapid && m.Feed != 0 || !m.Rapid && m.Kind != Dwell && m.Feed <= 0 {
		t.Errorf("feed: %+v", m)
	}
	switch m.Kind {
	case Line:
		if !near(m.Length, math.Hypot(m.To.X-m.From.X, m.To.Y-m.From.Y)) {
			t.Errorf("length: %+v", m)
		}
	case Dwell:
		if m.From != m.To || m.Length != 0 {
			t.Errorf("dwell moves: %+v", m)
		}
	case Arc:
		checkArc(t, m)
	}
}

// checkArc checks that an arc's ends lie where its centre, radii and angles
// say, and that its sweep is more than none and at most a turn.
func checkArc(t tester, m *Move) {
	t.Helper()
	if math.Abs(m.R1-m.R0) > radiiDifferIn+2*radiiSlack {
		t.Errorf("radii: %+v", m)
	}
	if s := math.Abs(m.Sweep); !(s > 0 && s <= 2*math.Pi) {
		t.Errorf("sweep: %+v", m)
	}
	// Angles and centres are floats: what they are worth grows with the
	// radius and with the distance from zero.
	tol := 4e-15 * (m.R0 + m.R1 + math.Abs(m.CX) + math.Abs(m.CY) +
		math.Abs(m.From.X) + math.Abs(m.From.Y) + 1)
	sin, cos := math.Sincos(m.A0)
	if d := math.Hypot(m.CX+m.R0*cos-m.From.X, m.CY+m.R0*sin-m.From.Y); d > tol {
		t.Errorf("the start is off its circle by %g: %+v", d, m)
	}
	sin, cos = math.Sincos(m.A0 + m.Sweep)
	if d := math.Hypot(m.CX+m.R1*cos-m.To.X, m.CY+m.R1*sin-m.To.Y); d > 2*tol {
		t.Errorf("the end is off its circle by %g: %+v", d, m)
	}
	if !near(m.Length, math.Hypot(math.Abs(m.Sweep)*(m.R0+m.R1)/2, m.R1-m.R0)) {
		t.Errorf("length: %+v", m)
	}
}

func isUnsupported(err error) bool {
	return diag.Is(err, diag.Unsupported)
}
