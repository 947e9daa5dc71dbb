package motion

import "math"

// nowhereMM is how far a move goes nowhere yet: places are not known any better.
const nowhereMM = 1e-9

// Move is a straight one from where the last ended; nowhere where By is 0.
type Move struct {
	By Vector
	// Speed is the one that is asked for, along By.
	Speed float64
	// Stop tells that it begins from rest.
	Stop bool
	// Line is how long the line is that it is a part of, which LinesPerS counts once; 0 where
	// it is all of one.
	Line float64
	// Tag is the caller's.
	Tag int
}

// Planned is a move with what becomes of it.
type Planned struct {
	Move
	// Length is along By, and Accel the acceleration along it, in mm/s².
	Length, Accel float64
	// In, Peak and Out are its speeds in mm/s: where it begins, at most, where it ends.
	In, Peak, Out float64
	// Seconds is how long it takes.
	Seconds float64

	along Vector  // the direction of By
	most  float64 // what Peak may be
}

// Below is over what length it goes slower than at a speed.
func (m *Planned) Below(speed float64) float64 {
	if m.Peak < speed {
		return m.Length
	}
	reach := func(from float64) float64 {
		if from >= speed {
			return 0
		}
		return (speed*speed - from*from) / (2 * m.Accel)
	}
	return min(m.Length, reach(m.In)+reach(m.Out))
}

// leastAhead is how many moves are looked at anew at once, at least.
const leastAhead = 32

// Planner plans moves, see New.
type Planner struct {
	limits Limits
	take   func(*Planned)
	// ahead are the moves that are not given back yet; their In is the greatest that what
	// came before allows.
	ahead []Planned
	// came is the length of those that have come since ahead was last looked through, and
	// fresh how many they are.
	came  float64
	fresh int
	// along is the direction of the last move that goes anywhere, none before the first.
	along Vector
}

// New returns a planner that hands what it has planned to take, in order, which may keep
// nothing of it.
func New(l Limits, take func(*Planned)) *Planner { return &Planner{limits: l, take: take} }

// Add takes the next move.
func (p *Planner) Add(m Move) {
	next := Planned{Move: m, most: math.Inf(1), Accel: math.Inf(1), In: math.Inf(1)}
	if length := math.Sqrt(m.By[0]*m.By[0] + m.By[1]*m.By[1] + m.By[2]*m.By[2]); length > nowhereMM {
		l := &p.limits
		next.Length = length
		for k := range next.along {
			next.along[k] = m.By[k] / length
		}
		next.Accel = l.Accel.least(&next.along)
		next.most = min(m.Speed, l.Speed.least(&next.along))
		if l.LinesPerS > 0 {
			next.most = min(next.most, max(length, m.Line)*l.LinesPerS)
		}
		next.In = 0
		if p.along != (Vector{}) {
			next.In = min(next.most, l.through(&p.along, &next.along))
		}
		p.along = next.along
	}
	if m.Stop {
		next.In = 0
	}
	if n := len(p.ahead); n > 0 {
		last := &p.ahead[n-1]
		next.In = min(next.In, last.most, last.reach(last.In))
	} else if math.IsInf(next.In, 1) {
		next.In = 0 // what comes first begins from rest, though it goes nowhere
	}
	p.ahead = append(p.ahead, next)
	p.came += next.Length
	p.fresh++
	// What is further ahead than braking from here takes cannot change any more.
	if brake := next.In * next.In / (2 * next.Accel); next.In == 0 || p.fresh >= leastAhead && p.came >= brake {
		p.look()
	}
}

// End brings the path to rest behind the last move.
func (p *Planner) End() {
	if len(p.ahead) > 0 {
		p.Add(Move{Stop: true})
		p.ahead = p.ahead[:0]
	}
	p.along = Vector{}
}

// reach is the speed that it comes to, or can have come from, over its length.
func (m *Planned) reach(speed float64) float64 {
	if m.Length == 0 {
		return speed
	}
	return math.Sqrt(speed*speed + 2*m.Accel*m.Length)
}

// look hands on the moves that nothing that follows can change: those before the last one
// that is begun as fast as what came before allows, even if the path were to end here.
func (p *Planner) look() {
	p.came, p.fresh = 0, 0
	settled := 0
	out := 0.0 // of the last, as if it were the end
	last := len(p.ahead) - 1
	if p.ahead[last].In == 0 {
		settled = last
	}
	for k := last; k > 0; k-- {
		m := &p.ahead[k]
		m.Out = out
		if back := m.reach(out); back < m.In {
			out = back
			continue
		}
		out = m.In
		settled = max(settled, k)
	}
	p.ahead[0].Out = out
	for k := range settled {
		m := &p.ahead[k]
		if k > 0 {
			m.In = p.ahead[k-1].Out
		}
		m.plan()
		p.take(m)
	}
	if settled > 0 {
		p.ahead = p.ahead[:copy(p.ahead, p.ahead[settled:])]
	}
}

// plan works out what a move takes whose speeds at its ends are known.
func (m *Planned) plan() {
	m.Seconds, m.Peak = 0, max(m.In, m.Out)
	if m.Length == 0 {
		return
	}
	v, w, a := m.In, m.Out, m.Accel
	m.Peak = max(m.Peak, min(m.most, math.Sqrt((v*v+w*w)/2+a*m.Length)))
	even := m.Length - (2*m.Peak*m.Peak-v*v-w*w)/(2*a)
	m.Seconds = (m.Peak-v)/a + (m.Peak-w)/a + max(0, even)/m.Peak
}
