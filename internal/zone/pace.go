package zone

import (
	"math"
	"os"
	"path/filepath"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
	"sagitta/internal/timing"
	"sagitta/internal/zone/rows"
	"sagitta/internal/zone/sheet"
)

// atSpeed is the part of its feed that a burn has at least where it is at speed.
const atSpeed = 0.9

// pace reads a program for its unbroken burns that begin or end below their speed: as far
// from a standstill, straight ahead, as it takes to come to it. A head stands still
// where a travel ends, and where the way turns.
type pace struct {
	opt *Options
	z   *sheet.Zone // that the program is at
	// far is how far it has come straight ahead at feed since it stood still, dx, dy
	// where it heads to.
	far, dx, dy float64
	burning     bool
	slow        bool // what burns began below its speed
	follows     bool // power follows speed in it
	need        float64
	// ended are burns that have ended since it stood still.
	ended []ended
}

// ended is an unbroken burn that has ended: so far from a standstill, with the way
// that it takes to slow down.
type ended struct {
	at, need      float64
	slow, follows bool
}

// paces has each zone told how many of its unbroken burns begin or end too slow,
// where it is known how fast the head gathers speed.
func paces(p *Plan, dir string) error {
	if p.Paced = p.opt.Accel > 0 && !p.opt.Rehearsal; !p.Paced {
		return nil
	}
	for i := range p.Zones {
		if z := &p.Zones[i]; i == 0 || z.Program != p.Zones[i-1].Program {
			if err := paceOf(p, dir, i); err != nil {
				return err
			}
		}
	}
	return nil
}

// paceOf reads the program of zone i, which may be that of those behind it as well.
func paceOf(p *Plan, dir string, i int) error {
	f, err := os.Open(filepath.Join(dir, p.Zones[i].Program))
	if err != nil {
		return err
	}
	defer f.Close()
	a := &pace{opt: p.opt, z: &p.Zones[i]}
	source := stream.New(f, stream.Options{Name: p.Zones[i].Program, Machine: p.opt.Machine})
	err = source.Each(func(it *stream.Item) error {
		for i+1 < len(p.Zones) && p.Zones[i+1].Program == a.z.Program && it.Block.Line >= p.Zones[i+1].Stop {
			i++
			a.stand()
			a.z = &p.Zones[i]
		}
		a.take(it)
		source.Done(it)
		return nil
	})
	a.stand()
	return err
}

// take takes the next item.
func (a *pace) take(it *stream.Item) {
	m := &it.Move
	if it.IsRun() {
		from, lines, speed := m.From, it.Lines(), m.Length/m.Seconds
		for k := range lines {
			v := &lines[k]
			l := machine.Move{Kind: machine.Line, Burn: v.Burn, From: from, To: machine.Point{X: v.X, Y: v.Y}, PowerFollows: m.PowerFollows}
			l.Length = math.Hypot(v.X-from.X, v.Y-from.Y)
			from.X, from.Y = v.X, v.Y
			a.move(&l, speed)
		}
		return
	}
	if it.Actions.Beam != 0 && a.opt.StopsAtBeam || m.Kind == machine.Dwell || it.Actions.Stop != 0 {
		a.stand()
	}
	if it.Moves() {
		a.move(m, m.Length/m.Seconds)
	}
}

// move takes a move at a speed in mm/s.
func (a *pace) move(m *machine.Move, speed float64) {
	if m.Rapid || m.Length == 0 || m.FromUnknown {
		a.end()
		a.stand()
		return
	}
	dx, dy := m.Heading(0)
	if dx*a.dx+dy*a.dy < rows.Parallel {
		if a.burning && m.Burn { // a corner
			a.judge()
			a.far = 0
		} else {
			a.end()
			a.stand()
		}
	}
	if a.dx, a.dy = m.Heading(1); m.Burn {
		// The axis that has most to do bounds how fast the head gathers speed.
		accel := a.opt.Accel / max(math.Abs(dx), math.Abs(dy))
		a.need = atSpeed * speed * atSpeed * speed / (2 * accel)
		a.follows = m.PowerFollows
		if !a.burning {
			a.burning, a.slow = true, a.far < a.need-rounding
			a.z.Unbroken++
		}
	} else {
		a.end()
	}
	a.far += m.Length
}

// end ends what burns.
func (a *pace) end() {
	if a.burning {
		a.burning = false
		a.ended = append(slices.DeleteFunc(a.ended, a.past), ended{a.far, a.need, a.slow, a.follows})
	}
}

// past counts a burn that has ended, where the head has gone on far enough.
func (a *pace) past(e ended) bool {
	if a.far-e.at < e.need-rounding {
		return false
	}
	if e.slow {
		a.count(e)
	}
	return true
}

// judge counts those that ended since the head stood still.
func (a *pace) judge() {
	for _, e := range a.ended {
		if e.slow || a.far-e.at < e.need-rounding {
			a.count(e)
		}
	}
	a.ended = a.ended[:0]
}

func (a *pace) count(e ended) {
	a.z.TooSlow++
	if !e.follows {
		a.z.Darker++
	}
}

// stand brings the head to a standstill.
func (a *pace) stand() {
	a.end()
	a.judge()
	a.far, a.dx, a.dy = 0, 0, 0
}

// times gives the zones the times that their programs in a folder take where the axes have
// inertia. In a program with stops each zone's begins at its own, where the head is at rest.
func times(p *Plan, dir string) error {
	b := timing.On(&p.opt.Bench)
	if b == nil {
		return nil
	}
	zones := p.Zones
	for i := 0; i < len(zones); {
		var from []int
		k := i + 1
		for ; k < len(zones) && zones[k].Program == zones[i].Program; k++ {
			from = append(from, zones[k].Stop)
		}
		f, err := os.Open(filepath.Join(dir, zones[i].Program))
		if err != nil {
			return err
		}
		parts, err := timing.Parts(f, zones[i].Program, *b, from)
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			return err
		}
		for n, seconds := range parts {
			zones[i+n].Seconds = seconds
		}
		i = k
	}
	return nil
}
