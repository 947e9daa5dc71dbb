package set

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// diary notes what it is told of a set, zone by zone.
type diary struct {
	t     *rapid.T
	zones []*told
}

// told is what was told of a zone.
type told struct {
	seconds, mm, worst float64
	line               int
	burns, others      int
	result             *verify.Result
}

func (d *diary) Begin(zone int) {
	if zone == 0 {
		d.zones = nil
	}
	if zone != len(d.zones) {
		d.t.Fatalf("zone %d begins behind %d", zone, len(d.zones))
	}
	d.zones = append(d.zones, &told{})
}

func (d *diary) End(r *verify.Result) { d.zones[len(d.zones)-1].result = r }

func (d *diary) See(s *verify.Seen) {
	z := d.zones[len(d.zones)-1]
	if s.Line < z.line {
		d.t.Fatalf("line %d behind line %d", s.Line, z.line)
	}
	z.line = s.Line
	z.seconds += s.Seconds
	if !s.Burns {
		z.others++
		return
	}
	z.burns++
	z.mm += s.M.Length
	z.worst = max(z.worst, -s.Defocus.Lo, s.Defocus.Hi)
	for i := range 50 {
		u := float64(i) / 50
		at := s.M.XY(u)
		h, _ := slope.At(at[0], at[1])
		if v := s.C0 + (s.C1-s.C0)*u - h - s.WantedMM; v < s.Defocus.Lo-1e-6 || v > s.Defocus.Hi+1e-6 || s.OriginalLine == 0 {
			d.t.Fatalf("line %d (%d): defocus %v is not within %v..%v", s.Line, s.OriginalLine, v, s.Defocus.Lo, s.Defocus.Hi)
		}
	}
}

// Of each zone of a drawn set what is told is what is found, and a watcher changes nothing.
func TestWatchedSet(t *testing.T) {
	slope = plane(t, 0.01)
	rapid.Check(t, func(rt *rapid.T) {
		j := drawJob(rt)
		text, err := json.Marshal(j.list)
		if err != nil {
			rt.Fatal(err)
		}
		opt := verify.Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Surface: slope, Rules: j.rules}
		if j.byHand {
			opt.ZMoves = bench.ByHand
		}
		run := func() *Result {
			s, err := Read(strings.NewReader(string(text)), "set.json")
			if err != nil {
				rt.Fatal(err)
			}
			res, err := Run(s, func(name string) (io.ReadCloser, error) {
				p, ok := j.programs[name]
				if !ok {
					return nil, fmt.Errorf("no %s", name)
				}
				return io.NopCloser(strings.NewReader(j.join(p))), nil
			}, func(name string) (Lens, error) {
				return Lens{Depth: focus.Depth{Near: lenses[name], Far: lenses[name]}}, nil
			}, strings.NewReader(j.original), "job.gcode", opt)
			if err != nil {
				rt.Fatal(err)
			}
			return res
		}
		bare := run()
		d := &diary{t: rt}
		opt.Watch = d
		res := run()
		if failuresOf(bare) != failuresOf(res) || !res.Holds() {
			rt.Fatalf("with a watcher\n%swithout\n%s", failuresOf(res), failuresOf(bare))
		}
		if len(d.zones) != len(res.Zones) || !(res.SecondsOriginal > 0) {
			rt.Fatalf("%d zones told, %d found, the original takes %v s", len(d.zones), len(res.Zones), res.SecondsOriginal)
		}
		for i, z := range d.zones {
			r := res.Zones[i]
			if !reflect.DeepEqual(*bare.Zones[i], *r) || z.result != r {
				rt.Fatalf("zone %d: with a watcher\n%+v\nwithout\n%+v", i+1, r, bare.Zones[i])
			}
			near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-6*(1+math.Abs(b)) }
			if !near(z.seconds, r.Seconds) || !near(z.mm, r.BurnLengthMM) || z.burns != r.Burns || j.rules == nil && !near(z.worst, math.Abs(r.Defocus.MM)) {
				rt.Fatalf("zone %d: %+v told, found %+v\n%s", i+1, z, r, j)
			}
		}
	})
}

// A dwell with the beam off takes its time in a zone, and is told in its place.
func TestWatchedSetWaits(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seconds := rapid.IntRange(1, 9).Draw(rt, "seconds")
		d := &diary{t: rt}
		slope = plane(t, 0.01)
		low := cut(t, setLow, "M5\nG0 X50 Y50\n", fmt.Sprintf("M5\nG4 P%d\nG0 X50 Y50\n", seconds))
		without := bent{}.says(t, "")
		with := bent{low: low, change: func(o *verify.Options) { o.Watch = d }}.says(t, "")
		if by := with.Zones[0].Seconds - without.Zones[0].Seconds; math.Abs(by-float64(seconds)) > 1e-9 || math.Abs(d.zones[0].seconds-with.Zones[0].Seconds) > 1e-9 {
			rt.Fatalf("a dwell of %d s takes %v, told %v of %v s", seconds, by, d.zones[0].seconds, with.Zones[0].Seconds)
		}
	})
}
