package motion

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func planned(l Limits, moves []Move) (all []Planned) {
	p := New(l, func(m *Planned) { all = append(all, *m) })
	for _, m := range moves {
		p.Add(m)
	}
	p.End()
	return all
}

func seconds(all []Planned) (sum float64) {
	for _, m := range all {
		sum += m.Seconds
	}
	return sum
}

// drawn are moves with what a path can have: straight on, back, tiny, nowhere, stops.
func drawn(t *rapid.T) []Move {
	number := rapid.Float64Range(-30, 30)
	var moves []Move
	for range rapid.IntRange(1, 60).Draw(t, "n") {
		m := Move{Speed: rapid.Float64Range(0.5, 300).Draw(t, "speed"), Tag: len(moves)}
		switch rapid.IntRange(0, 7).Draw(t, "kind") {
		case 0:
		case 1:
			m.Stop = true
			m.By = Vector{number.Draw(t, "x")}
		case 2:
			if len(moves) > 0 { // straight on, as in a row of pixels
				m.By, m.Speed = moves[len(moves)-1].By, moves[len(moves)-1].Speed
			}
		case 3:
			if len(moves) > 0 {
				for k, v := range moves[len(moves)-1].By {
					m.By[k] = -v
				}
			}
		case 4:
			m.By = Vector{rapid.Float64Range(-1e-6, 1e-6).Draw(t, "tiny"), 0.1}
		default:
			m.By = Vector{number.Draw(t, "x"), number.Draw(t, "y"), number.Draw(t, "z") / 20}
		}
		if rapid.IntRange(0, 3).Draw(t, "part") == 0 {
			m.Line = rapid.Float64Range(0.1, 60).Draw(t, "line")
		}
		moves = append(moves, m)
	}
	return moves
}

func drawnLimits(t *rapid.T) Limits {
	some := func(low, high float64) float64 {
		if rapid.IntRange(0, 3).Draw(t, "none") == 0 {
			return 0
		}
		return rapid.Float64Range(low, high).Draw(t, "limit")
	}
	a := rapid.Float64Range(50, 5000).Draw(t, "a")
	l := Limits{Speed: Vector{some(20, 400), some(20, 400), some(1, 20)}, Accel: Vector{a, a, rapid.Float64Range(5, 500).Draw(t, "az")},
		CornerMM: some(1e-4, 0.1), LinesPerS: some(10, 1000)}
	if rapid.Bool().Draw(t, "steps") {
		l.Step = Vector{some(0.1, 30), some(0.1, 30), some(0.05, 3)}
	}
	return l
}

// plain plans the same by lowering speeds until nothing is too fast: slow, but with nothing
// of look-ahead in it.
func plain(l Limits, moves []Move) (in []float64, total float64) {
	n := len(moves)
	length, accel, most := make([]float64, n), make([]float64, n), make([]float64, n)
	in = make([]float64, n+1)
	var along *Vector
	for k, m := range moves {
		if length[k] = math.Hypot(math.Hypot(m.By[0], m.By[1]), m.By[2]); length[k] <= nowhereMM {
			length[k] = 0
		}
		in[k], accel[k], most[k] = math.Inf(1), math.Inf(1), math.Inf(1)
		if length[k] > 0 {
			d := Vector{m.By[0] / length[k], m.By[1] / length[k], m.By[2] / length[k]}
			most[k] = m.Speed
			for x := range d {
				if a := math.Abs(d[x]); a > 0 {
					if l.Accel[x] > 0 {
						accel[k] = min(accel[k], l.Accel[x]/a)
					}
					if l.Speed[x] > 0 {
						most[k] = min(most[k], l.Speed[x]/a)
					}
				}
			}
			if l.LinesPerS > 0 {
				most[k] = min(most[k], max(length[k], m.Line)*l.LinesPerS)
			}
			if in[k] = 0; along != nil {
				in[k] = min(most[k], l.through(along, &d))
			}
			along = &d
		}
		if m.Stop || k == 0 {
			in[k] = 0
		}
		if k > 0 {
			in[k] = min(in[k], most[k-1])
		}
	}
	for changed := true; changed; {
		changed = false
		for k := range n {
			up := math.Sqrt(in[k]*in[k] + 2*accel[k]*length[k])
			down := math.Sqrt(in[k+1]*in[k+1] + 2*accel[k]*length[k])
			if length[k] == 0 {
				up, down = in[k], in[k+1]
			}
			if in[k+1] > up {
				in[k+1], changed = up, true
			}
			if in[k] > down {
				in[k], changed = down, true
			}
		}
	}
	for k := range moves {
		if length[k] == 0 {
			continue
		}
		// The time is that of three parts, by the distance that each takes.
		v, w, a := in[k], in[k+1], accel[k]
		peak := most[k]
		if up, down := (peak*peak-v*v)/(2*a), (peak*peak-w*w)/(2*a); up+down > length[k] {
			peak = math.Sqrt(a*length[k] + (v*v+w*w)/2)
		}
		peak = max(peak, v, w)
		total += (2*peak-v-w)/a + max(0, length[k]-(2*peak*peak-v*v-w*w)/(2*a))/peak
	}
	return in, total
}

// TestPlannerIsThePlainPlan holds speeds and times to those of the plain planner, though
// it sees all of the path at once: nothing is handed on too early, and nothing is slower
// than it need be.
func TestPlannerIsThePlainPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, moves := drawnLimits(t), drawn(t)
		all := planned(l, moves)
		if len(all) != len(moves) {
			t.Fatalf("%d of %d moves came back", len(all), len(moves))
		}
		in, total := plain(l, moves)
		for k, m := range all {
			if m.Tag != moves[k].Tag {
				t.Fatalf("move %d is %d", k, m.Tag)
			}
			if math.Abs(m.In-in[k]) > 1e-9*(1+in[k]) {
				t.Errorf("move %d begins at %v mm/s, not %v", k, m.In, in[k])
			}
			if k > 0 && m.In != all[k-1].Out {
				t.Errorf("move %d begins at %v, that before ends at %v", k, m.In, all[k-1].Out)
			}
		}
		if got := seconds(all); math.Abs(got-total) > 1e-9*(1+total) {
			t.Errorf("%v s, not %v", got, total)
		}
	})
}

// TestPlannerKeepsLimits steps through each move and holds speed and acceleration of each
// axis to its limits.
func TestPlannerKeepsLimits(t *testing.T) {
	const over = 1 + 1e-9
	rapid.Check(t, func(t *rapid.T) {
		l := drawnLimits(t)
		for k, m := range planned(l, drawn(t)) {
			if m.Length == 0 {
				continue
			}
			if m.Peak > m.Speed*over && m.Peak > max(m.In, m.Out) {
				t.Errorf("move %d goes at %v, asked for %v", k, m.Peak, m.Speed)
			}
			rounding := 1e-14 * m.Peak * m.Peak / m.Length // of the squares
			for x, by := range m.By {
				share := math.Abs(by) / m.Length
				if l.Speed[x] > 0 && m.Peak*share > l.Speed[x]*over {
					t.Errorf("move %d: axis %d goes at %v of %v", k, x, m.Peak*share, l.Speed[x])
				}
				if rise := (m.Peak*m.Peak - m.In*m.In) / (2 * m.Length); l.Accel[x] > 0 && (rise-rounding)*share > l.Accel[x]*over {
					t.Errorf("move %d: axis %d takes %v mm/s² of %v", k, x, rise*share, l.Accel[x])
				}
			}
			if b := m.Below(math.Inf(1)); b != m.Length {
				t.Errorf("move %d: %v of %v mm are slower than anything", k, b, m.Length)
			}
			if b := m.Below(min(m.In, m.Out)); b != 0 {
				t.Errorf("move %d: %v mm are slower than its ends", k, b)
			}
		}
	})
}

// TestMoreIsNoSlower has no limit that is wider make a path slower.
func TestMoreIsNoSlower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, moves := drawnLimits(t), drawn(t)
		wide, by := l, rapid.Float64Range(1, 3).Draw(t, "by")
		switch rapid.IntRange(0, 4).Draw(t, "which") {
		case 0:
			for k := range wide.Accel {
				wide.Accel[k] *= by
			}
		case 1:
			for k := range wide.Speed {
				wide.Speed[k] *= by
			}
		case 2:
			for k := range wide.Step {
				wide.Step[k] *= by
			}
		case 3:
			wide.CornerMM *= by
		default:
			wide.LinesPerS *= by
		}
		if slow, fast := seconds(planned(l, moves)), seconds(planned(wide, moves)); fast > slow*(1+1e-9) {
			t.Errorf("%v s within %+v, %v s within %+v", slow, l, fast, wide)
		}
	})
}

// TestLooksNoFurtherThanBraking has a long path keep no more of itself than braking takes,
// whatever it does.
func TestLooksNoFurtherThanBraking(t *testing.T) {
	const speed, accel, step = 100.0, 50.0, 0.1
	brake := speed * speed / (2 * accel)
	p := New(Limits{Accel: Vector{accel, accel, accel}, CornerMM: 0.01}, func(*Planned) {})
	for k := range 20000 {
		by := Vector{step}
		if k/3000%2 == 1 {
			by = Vector{step * math.Cos(float64(k)/900), step * math.Sin(float64(k)/900)}
		}
		p.Add(Move{By: by, Speed: speed})
		if most := 2*brake/step + 2*leastAhead; float64(len(p.ahead)) > most {
			t.Fatalf("%d moves are kept, of %v", len(p.ahead), most)
		}
	}
}

// A turn that is too little for its square to be told from nothing is none, also where corners
// are stopped at else.
func TestHardlyTurning(t *testing.T) {
	for _, tiny := range []float64{1e-163, 2e-163, 1e-161, 1e-150, 1e-20} {
		all := planned(Limits{Accel: Vector{50, 50, 5}}, []Move{{By: Vector{tiny, 0.1}, Speed: 1}, {By: Vector{0, 0.1}, Speed: 1}})
		if len(all) != 2 || !(seconds(all) < 1) {
			t.Errorf("a turn by %g: %d of 2 moves, in %v s", tiny, len(all), seconds(all))
		}
	}
}
