package ladder

import (
	"bytes"
	"io"
	"math"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/record"
)

// failer is what both kinds of test have.
type failer interface {
	Helper()
	Fatalf(string, ...any)
	Errorf(string, ...any)
}

// segment is one burn, in mm.
type segment struct {
	x0, y0, x1, y1 float64
	power          float64
}

// group is what is burned between two times of the beam being put off: the
// labels first, then a rung each.
type group struct {
	offset   float64 // of the lens while it burns, in mm
	segments []segment
	pauses   int // M0 met before it
	// lastZ is the last Z move before it, + further off; 0 where none.
	lastZ float64
	// way is the least offset at which the head went over XY before the
	// first burn; onWay tells that it went, and wayPauses how many of the
	// pauses came before that.
	way       float64
	onWay     bool
	wayPauses int
}

// readBack follows a program as the tool does.
func readBack(t failer, p *Ladder, text []byte) (groups []group, end machine.State) {
	t.Helper()
	sigma := p.opt.Machine.Sigma()
	cfg := p.opt.Machine.Config(nil, p.opt.StartZMM)
	// What was on the bench before must not matter.
	cfg.Inches = !cfg.Inches
	ip := machine.New(cfg)
	r := program.NewReader(bytes.NewReader(text), "ladder")
	var g group
	first := true
	for {
		blk, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v (%s)", err, diag.Hint(err))
		}
		if most := p.opt.Machine.LineMax; most != nil && len(blk.Body()) > *most {
			t.Errorf("line %d has %d characters", blk.Line, len(blk.Body()))
		}
		before := ip.State()
		var m machine.Move
		if err := ip.Step(blk, &m); err != nil {
			t.Fatalf("%v (%s)", err, diag.Hint(err))
		}
		if first && len(blk.Words) > 0 {
			w, _ := blk.Find('M')
			if w.Num.Cmp(program.Int(int64(p.opt.Machine.BeamOff[0]))) != 0 {
				t.Errorf("the first words are %s", blk.Body())
			}
			first = false
		}
		if w, ok := blk.Find('M'); ok {
			switch {
			case w.Num.Cmp(program.Int(0)) == 0:
				g.pauses++
				if before.BeamLit || before.BeamWord == machine.NoBeam {
					t.Errorf("line %d pauses where no word puts the beam off", blk.Line)
				}
			case len(g.segments) > 0 && ip.State().Beam == machine.Off:
				groups = append(groups, g)
				g = group{}
			}
		}
		if m.From.Z != m.To.Z {
			if m.Burn || before.Beam != machine.Off || ip.State().Beam != machine.Off {
				t.Errorf("line %d moves Z with the beam on", blk.Line)
			}
			if m.Length > 0 {
				t.Errorf("line %d moves Z along with X or Y", blk.Line)
			}
			g.lastZ = sigma * (m.To.Z - m.From.Z)
			if p.opt.byHand() {
				t.Errorf("line %d writes Z", blk.Line)
			}
			if p.opt.Machine.ZMinMM != nil && m.To.Z < *p.opt.Machine.ZMinMM-slack || p.opt.Machine.ZMaxMM != nil && m.To.Z > *p.opt.Machine.ZMaxMM+slack {
				t.Errorf("line %d goes to Z %g", blk.Line, m.To.Z)
			}
		}
		if off := sigma * (m.To.Z - p.opt.StartZMM); m.Length > 0 && !m.Burn && len(g.segments) == 0 {
			if before.BeamLit {
				t.Errorf("line %d goes to a figure where no word puts the beam off", blk.Line)
			}
			if !g.onWay {
				g.way, g.wayPauses = off, g.pauses
			}
			g.onWay, g.way = true, min(g.way, off)
		}
		if m.Burn {
			if m.Length == 0 {
				t.Errorf("line %d burns on the spot", blk.Line)
			}
			if math.Abs(m.Feed-p.opt.FeedMMMin) > 0.02 {
				t.Errorf("line %d burns at %g mm/min", blk.Line, m.Feed)
			}
			g.offset = sigma * (m.To.Z - p.opt.StartZMM)
			g.segments = append(g.segments, segment{m.From.X, m.From.Y, m.To.X, m.To.Y, m.Power})
		}
		end = ip.State()
	}
	if len(g.segments) > 0 {
		t.Errorf("the beam is never put off at the end")
	}
	if notes := ip.Notes(); len(notes) > 0 {
		t.Errorf("unknown words: %v", notes)
	}
	return groups, end
}

// tolerance is half the last decimal of a coordinate, in mm, with room for the
// roundings of the sum of two.
func (p *Ladder) tolerance() float64 {
	return 1000/float64(newWriter(p).Units(1000)) + 1e-9
}

// plain is a ladder on a bench without profile.
func plain() Options {
	return Options{
		StepMM: 0.5, ReachMM: 2.5, FeedMMMin: 1500, PowersPct: []float64{30}, Made: "a test",
		Machine: record.DefaultMachine(),
	}
}

func mustPlan(t *testing.T, o Options) (*Ladder, []byte) {
	t.Helper()
	p, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	text, err := p.Program()
	if err != nil {
		t.Fatal(err)
	}
	return p, text
}
