package zone_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/zone"
)

// Burns at several programmed Z in a program with stops: the way to a stop is clear for
// the burn behind it as well as for the one before.
func TestStopsBetweenLevels(t *testing.T) {
	jobs, split := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		jobs++
		_, opt := drawJob(rt)
		opt.Pause, opt.Cuts, opt.Machine.ZAxis = true, nil, 'Z'
		opt.Lenses = []zone.Lens{{Name: "short", Depth: focus.Depth{Near: 0.15, Far: 0.15}}, {Name: "long", Depth: focus.Depth{Near: 0.5, Far: 0.5}}}
		opt.Head, opt.Original = nil, false
		sigma := 1.0
		if !opt.ZPlusAway {
			sigma = -1
		}
		var b strings.Builder
		b.WriteString("G21 G90 G94 G17\nG0 X1 Y1 Z0\nM3 S0\n")
		for range rapid.IntRange(2, 7).Draw(rt, "burns") {
			x, y := rapid.Float64Range(2, 50).Draw(rt, "x"), rapid.Float64Range(2, 58).Draw(rt, "y")
			fmt.Fprintf(&b, "G0 X%.3f Y%.3f\nG0 Z%g\nG1 X%.3f F1200 S500\nS0\n", x, y, sigma*pick(rt, "level", 0.0, 0, 2.5, 4), x+rapid.Float64Range(0.5, 8).Draw(rt, "long"))
		}
		text := b.String() + "M5\nG0 X0 Y0\nM2\n"
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err == nil {
			err = p.Split(strings.NewReader(text), dir)
		}
		if unmet := new(zone.UnmetError); errors.As(err, &unmet) {
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		if res := proveSet(rt, dir, text, opt); !res.Holds() {
			rt.Fatalf("does not hold:\n%s%s\n%s", complaints(res), text, strings.Join(programs(rt, dir), "\n"))
		}
		if len(p.Zones) > 1 {
			split++
		}
	})
	if jobs >= enough && split < 20 {
		t.Errorf("only %d jobs divided", split)
	}
}
