package zone_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/follow"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/rewrite"
	"sagitta/internal/zone"
)

// TestFollowedWithinIsProved: drawn jobs that are split into wider zones and
// followed within them are proved as a set, every burn in focus at its zone's
// setting, and need no more zones than flat ones.
func TestFollowedWithinIsProved(t *testing.T) {
	jobs, done, fewer, stepped, slowed, byRules := 0, 0, 0, 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		jobs++
		job, opt := drawJob(rt, drawn.Between)
		text := job.Text
		opt.SetZ, opt.Pause, opt.ZMoves, opt.Turn.DivisionMM = false, false, bench.Always, 0
		if pick(rt, "ruled", false, true) {
			drawRules(rt, &opt)
		}
		flat, err := zone.Survey(strings.NewReader(text), opt)
		var unmet *zone.UnmetError
		if errors.As(err, &unmet) {
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		opt.Within = &zone.Within{Follow: follow.Options{Options: rewrite.Options{Bench: bench.Bench{Machine: opt.Machine, Slow: pick(rt, "slow", bench.SlowNever, bench.SlowBurns), Slowest: 0.5, ZPlusAway: opt.ZPlusAway, DecimalsMM: 3, DecimalsInch: 5, ZRate: pick(rt, "rate", 0.05, 0.5, 3)}, Comments: true, Marker: "sagitta x split y", Numbered: opt.Numbered},
			Use: 0.5, OutsideHold: opt.OutsideHold}}
		p, err := zone.Fewest(strings.NewReader(text), opt)
		if errors.As(err, &unmet) && strings.Contains(unmet.Failures[0].What, "split without following") {
			stepped++
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		if len(p.Zones) > len(flat.Zones) {
			rt.Fatalf("%d zones, %d flat\n%s", len(p.Zones), len(flat.Zones), text)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		err = p.Split(strings.NewReader(text), dir)
		if errors.As(err, &unmet) {
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		if res := proveSet(rt, dir, text, opt); !res.Holds() {
			for _, f := range programs(rt, dir) {
				rt.Logf("%s", f)
			}
			rt.Fatalf("does not hold:\n%s%s", complaints(res), text)
		}
		if done++; opt.Rules != nil {
			byRules++
		}
		for i := range p.Zones {
			slowed += p.Zones[i].Slowed
		}
		if len(p.Zones) < len(flat.Zones) {
			fewer++
		}
	})
	t.Logf("%d proved, %d of them by rules, %d with fewer zones, %d at several Z, %d burns slowed", done, byRules, fewer, stepped, slowed)
	if jobs >= enough && (done < 50 || fewer == 0 || byRules == 0) {
		t.Errorf("%d proved, %d by rules, %d with fewer zones: too few to prove anything", done, byRules, fewer)
	}
}
