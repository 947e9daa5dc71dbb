package zone_test

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/zone"
)

// firstMove gives what a program has said of modes where it first moves.
func firstMove(t *rapid.T, text string, cfg machine.Config) machine.State {
	r, ip := program.NewReader(strings.NewReader(text), "x"), machine.New(cfg)
	for {
		b, err := r.Next()
		if err != nil {
			t.Fatalf("nothing moves: %v\n%s", err, text)
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if m.Length > 0 {
			return ip.State()
		}
	}
}

// Each program says before it first moves what the original has said there of units,
// distance mode, feed mode and plane, wherever that stands beside the beam's word; and
// one that is a rehearsal says so first.
func TestModesAreSaidFirst(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		words := []string{"M3 S0", "G0 X10 Y10"}
		for _, w := range []string{"G21", "G90", "G94", "G17"} {
			if rapid.Bool().Draw(rt, w) {
				words = append(words, w)
			}
		}
		words = rapid.Permutation(words).Draw(rt, "words")
		var b strings.Builder
		head := rapid.SampledFrom([]string{"", "%\n", "%\nO12\n", "O12\n"}).Draw(rt, "head")
		b.WriteString(head)
		for _, w := range words {
			b.WriteString(w + rapid.SampledFrom([]string{" ", "\n"}).Draw(rt, "behind"))
		}
		b.WriteString("\nG1 X20 F2400 S500\nS0\nG0 X90 Y10\nG1 X95 S500\nM5\nM2\n")
		opt := slopeOptions(t)
		opt.Pause, opt.Rehearsal, opt.SetZ = rapid.Bool().Draw(rt, "pause"), rapid.Bool().Draw(rt, "rehearsal"), rapid.Bool().Draw(rt, "set z")
		if rapid.Bool().Draw(rt, "by hand") {
			opt.ZMoves, opt.SetZ = bench.ByHand, false
		}
		text := b.String()
		said := firstMove(rt, text, opt.Machine).Said
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err = errors.Join(err, p.Split(strings.NewReader(text), dir)); err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		names, _ := filepath.Glob(filepath.Join(dir, "*.gcode"))
		if len(names) != len(p.Zones) && !opt.Pause || len(p.Zones) < 2 {
			rt.Fatalf("%d programs of %d zones", len(names), len(p.Zones))
		}
		for _, name := range names {
			body, err := os.ReadFile(name)
			if err != nil {
				rt.Fatal(err)
			}
			got := string(body)
			if lacks := said &^ firstMove(rt, got, opt.Machine).Said; lacks != 0 {
				rt.Fatalf("the groups %b are not said:\n%s\nof\n%s", lacks, got, text)
			}
			if opt.Rehearsal && !strings.HasPrefix(got, "(rehearsal") && !strings.HasPrefix(got, head+"(rehearsal") {
				rt.Fatalf("it does not begin with what it is:\n%s\nof\n%s", got, text)
			}
		}
	})
}

// The programs of a set end with the beam put off: of a job that says powers and no word
// of the beam each burns all of its own all the same, in runs of lines too.
func TestPowersAloneStillFire(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var b strings.Builder
		b.WriteString("G21 G90\nG0 X0 Y10\n" + rapid.SampledFrom([]string{"S500\n", "S0\nS300\n"}).Draw(rt, "power") + "G1 F2000\n")
		step, length := rapid.IntRange(1, 10).Draw(rt, "step"), 0.0
		for x := step; x < 100; x += step {
			length += float64(step)
			fmt.Fprintf(&b, "X%d\n", x)
			if rapid.IntRange(0, 4).Draw(rt, "gap") == 0 { // ends a run
				fmt.Fprintf(&b, "S0\nG0 Y%d\nS%d\nG1\n", 10+x%3, 100+x)
			}
		}
		b.WriteString("S0\nG0 X0\n")
		opt := slopeOptions(t)
		opt.Pause, opt.SetZ = rapid.Bool().Draw(rt, "pause"), rapid.Bool().Draw(rt, "set z")
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(b.String()), opt)
		if err = errors.Join(err, p.Split(strings.NewReader(b.String()), dir)); err != nil || len(p.Zones) < 2 {
			rt.Skip(err)
		}
		burned := 0.0
		names, _ := filepath.Glob(filepath.Join(dir, "*.gcode"))
		for _, name := range names {
			body, err := os.ReadFile(name)
			if err != nil {
				rt.Fatal(err)
			}
			list, _ := moves(rt, "M5\n"+string(body), opt.Machine)
			for i := range list {
				if list[i].Burn {
					burned += list[i].Length
				}
			}
		}
		if math.Abs(burned-length) > 0.1 {
			rt.Fatalf("%.3f mm are burned instead of %.3f of\n%s", burned, length, b.String())
		}
	})
}
