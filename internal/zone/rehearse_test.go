package zone_test

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/program"
	"sagitta/internal/zone"
)

// moves are the motions of a program that lead somewhere, and whether any of
// them burns.
func moves(t *rapid.T, text string, cfg machine.Config) (list []machine.Move, burns bool) {
	r, ip := program.NewReader(strings.NewReader(text), "x"), machine.New(cfg)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return list, burns
		}
		if err != nil {
			t.Fatalf("%v", err)
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatalf("%v", err)
		}
		burns = burns || m.Burn
		if m.Kind != machine.Still && (m.Kind == machine.Dwell || m.From != m.To || m.Length > 0) {
			list = append(list, m)
		}
	}
}

// A rehearsal makes the same motion as the set itself, and never burns.
func TestRehearsalsAreDark(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		job, opt := drawJob(rt, drawn.Between)
		text := job.Text
		var sets [2]map[string]string
		for i := range sets {
			opt.Rehearsal = i == 1
			p, err := zone.Survey(strings.NewReader(text), opt)
			if err != nil {
				rt.Skip(err)
			}
			dir := folder(t)
			defer os.RemoveAll(dir)
			err = p.Split(strings.NewReader(text), dir)
			var unmet *zone.UnmetError
			if errors.As(err, &unmet) && (mute(job, err) || opt.Surface.MaxSlope() > steep || strings.Contains(unmet.Failures[0].What, "the head cannot ")) {
				rt.Skip(err)
			}
			if err != nil {
				rt.Fatalf("%v over a slope of %g", err, opt.Surface.MaxSlope())
			}
			sets[i] = map[string]string{}
			names, _ := filepath.Glob(filepath.Join(dir, "*.gcode"))
			for _, n := range names {
				b, err := os.ReadFile(n)
				if err != nil {
					rt.Fatalf("%v", err)
				}
				sets[i][filepath.Base(n)] = string(b)
			}
		}
		if len(sets[0]) == 0 || len(sets[0]) != len(sets[1]) {
			rt.Fatalf("%d programs, %d rehearsals", len(sets[0]), len(sets[1]))
		}
		for name, lit := range sets[0] {
			want, _ := moves(rt, lit, opt.Machine)
			got, burns := moves(rt, sets[1][name], opt.Machine)
			if burns {
				rt.Fatalf("a rehearsal burns:\n%s", sets[1][name])
			}
			// Leads are left out where nothing can put the beam off.
			if len(want) != len(got) && !job.Silent {
				rt.Fatalf("%d motions, %d in the rehearsal:\n%s\n%s", len(want), len(got), lit, sets[1][name])
			}
			for i := range got {
				if job.Silent {
					break
				}
				a, b := want[i], got[i]
				if math.Abs(a.To.X-b.To.X)+math.Abs(a.To.Y-b.To.Y)+math.Abs(a.To.Z-b.To.Z) > 1e-9 || a.Kind != b.Kind || a.Rapid != b.Rapid ||
					math.Abs(a.Seconds-b.Seconds) > 1e-6*(1+a.Seconds) {
					rt.Fatalf("motion %d is %+v instead of %+v\n%s\n%s", i, b, a, lit, sets[1][name])
				}
			}
		}
	})
}
