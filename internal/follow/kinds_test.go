package follow_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/follow"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/stream"
	"sagitta/internal/verify"
)

// drawRules draws rules about burns by lines, tool, feed and power, as both sides of the
// proof take them. Depths lose as much to writing as is said.
func drawRules(t *rapid.T, opt *follow.Options, lost float64) (rules []verify.Rule) {
	kinds := &stream.Kinds{Of: []int{0}}
	for n := rapid.IntRange(1, 3).Draw(t, "rules"); n > 0; n-- {
		r := verify.Rule{
			Depth:     focus.Depth{Near: pick(t, "rule near", 0.2, 0.6, 1.5, 4), Far: pick(t, "rule far", 0.3, 0.6, 2, 4)},
			DefocusMM: pick(t, "rule defocus", 0, 0.2, -0.4, 1, -1.5),
		}
		switch pick(t, "by", "lines", "lines", "tool", "feed", "power", "all") {
		case "lines":
			after := 0
			for range rapid.IntRange(1, 2).Draw(t, "spans") {
				from := after + rapid.IntRange(1, 60).Draw(t, "from")
				after = from + rapid.IntRange(0, 40).Draw(t, "lines")
				r.Lines = append(r.Lines, [2]int{from, after})
			}
		case "tool":
			tool := rapid.IntRange(0, 3).Draw(t, "tool")
			r.Tool = &tool
		case "feed":
			r.FeedMMMin = &[2]float64{0, pick(t, "feed", 300.0, 1000, 2500)}
		case "power":
			r.Power = &[2]float64{pick(t, "power", 1.0, 200, 500), 1000}
		}
		if opt.ZMoves == bench.ByHand {
			r.DefocusMM = 0
		}
		rules = append(rules, r)
		opt.Kinds = append(opt.Kinds, focus.Aim{
			Depth: focus.Depth{Near: r.Depth.Near - lost, Far: r.Depth.Far - lost}, Use: pick(t, "rule use", 0.1, 0.5, 1), Defocus: r.DefocusMM,
		})
		kinds.Of = append(kinds.Of, len(rules))
	}
	in := func(span *[2]float64, v float64) bool { return span == nil || span[0] <= v && v <= span[1] }
	kinds.Rule = func(line, tool int, feed, power float64) int {
		for k, r := range rules {
			byLine := r.Lines == nil || slices.ContainsFunc(r.Lines, func(s [2]int) bool { return s[0] <= line && line <= s[1] })
			if byLine && (r.Tool == nil || *r.Tool == tool) && in(r.FeedMMMin, feed) && in(r.Power, power) {
				return k + 1
			}
		}
		return 0
	}
	opt.Rules = kinds
	return rules
}

// Kinds that ask for what the job asks for change nothing, to the last byte, nor do rules
// of that kind.
func TestKindsOfTheJobChangeNothing(t *testing.T) {
	changed := 0
	rapid.Check(t, func(t *rapid.T) {
		p, job := drawSurface(t, size), drawn.Draw(t, drawn.Options{Side: size, Without: gaps})
		opt := follow.Options{Surface: p, Depth: focus.Depth{Near: pick(t, "near", 0.3, 0.7, 2), Far: pick(t, "far", 0.3, 1.1, 2)},
			Use: pick(t, "use", 0.1, 0.5, 1), Defocus: pick(t, "defocus", 0, 0.3, -0.4), Window: pick(t, "window", 0, 8, 40), Head: drawHead(t, size)}
		opt.Bench = bench.Bench{Machine: job.Config(), Slow: bench.SlowBurns, Slowest: 0.5, ZPlusAway: rapid.Bool().Draw(t, "away"),
			ZMoves: pick(t, "zmoves", bench.Always, bench.Always, bench.BeamOff), ZRate: pick(t, "rate", 0.0, 0, 5, 50), DecimalsMM: 3, DecimalsInch: 5}
		opt.Name, opt.Comments, opt.Marker = "drawn", true, "sagitta 0 follow"
		run := func(opt follow.Options) string {
			var out bytes.Buffer
			if _, err := follow.Run(strings.NewReader(job.Text), &out, opt); err != nil {
				return err.Error()
			}
			return out.String()
		}
		want := run(opt)
		if want != job.Text {
			changed++
		}
		own := focus.Aim{Depth: opt.Depth, Use: opt.Use, Defocus: opt.Defocus}
		for name, of := range map[string][]int{"of kind 0": {0, 0, 0}, "of one kind beside": {1, 1, 1}} {
			opt.Kinds = []focus.Aim{own, own}
			opt.Rules = &stream.Kinds{Of: of, Rule: func(line, _ int, _, _ float64) int { return line % 3 }}
			if got := run(opt); got != want {
				t.Fatalf("rules %s\n%s\ngive\n%s\nnot\n%s", name, job.Text, got, want)
			}
		}
	})
	if changed == 0 {
		t.Error("no program was changed")
	}
}
