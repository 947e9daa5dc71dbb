package probe

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// stock is a sheet as it may lie on a bench: it bows either way and lies out of level, its
// heights counted from the datum.
type stock struct {
	height func(x, y float64) float64
	level  bool
}

func drawStock(t *rapid.T, p *Probing, bow float64) stock {
	x0, x1, y0, y1 := p.X[0], p.X[len(p.X)-1], p.Y[0], p.Y[len(p.Y)-1]
	sign := rapid.SampledFrom([]float64{-1, 1}).Draw(t, "bows to")
	form := rapid.SampledFrom([]func(u, v float64) float64{
		func(u, v float64) float64 { return 4 * u * (1 - u) },
		func(u, v float64) float64 { return 4 * v * (1 - v) },
		func(u, v float64) float64 { return 2*u*(1-u) + 2*v*(1-v) },
		func(u, v float64) float64 { return math.Sin(2*math.Pi*u) / 2 },
		func(u, v float64) float64 { return math.Pow(max(0, 3*v-2), 2) },
	}).Draw(t, "form")
	out, to := rapid.SampledFrom([]float64{0, OutOfLevel}).Draw(t, "out of level"), rapid.Float64Range(0, 2*math.Pi).Draw(t, "which way")
	raw := func(x, y float64) float64 { return sign * bow * form((x-x0)/(x1-x0), (y-y0)/(y1-y0)) }
	d := p.Places[0]
	return stock{func(x, y float64) float64 {
		return raw(x, y) - raw(d[0], d[1]) + out*((x-d[0])*math.Cos(to)+(y-d[1])*math.Sin(to))
	}, out == 0}
}

// touching is a word of a move that ends where it touches.
var touching = regexp.MustCompile(`(?m)^(N\d+ )?G38\.2 ([ZW])(\S+) F\S+$`)

// run has a program run over stock, each move that touches ended by it, and gives the
// travels and touches as the tool's own reading has them, Z upwards over the datum.
func run(t *rapid.T, m *record.Machine, text string, s stock, visit func(mv machine.Move, touches bool)) {
	var out strings.Builder
	x, y, touched := 0.0, 0.0, map[int]bool{}
	unit := 1.0
	if m.Inches() {
		unit = 25.4
	}
	n := 0
	for line := range strings.Lines(text) {
		n++
		for _, w := range strings.Fields(line) {
			if v, err := strconv.ParseFloat(w[1:], 64); err == nil && w[0] == 'X' {
				x = v*unit + m.ProbeOffsetMM[0]
			} else if err == nil && w[0] == 'Y' {
				y = v*unit + m.ProbeOffsetMM[1]
			}
		}
		if g := touching.FindStringSubmatch(line); g != nil {
			deep, _ := strconv.ParseFloat(g[3], 64)
			z := m.Sigma() * s.height(x, y) / unit
			if m.Sigma()*(z-deep) < 0 {
				t.Fatalf("%s does not reach the stock, %g mm over the datum", line, s.height(x, y))
			}
			line = fmt.Sprintf("%sG1 %s%.6f F100\n", g[1], g[2], z)
			touched[n] = true
		}
		out.WriteString(line)
	}
	err := stream.Scan(strings.NewReader(out.String()), stream.Options{Name: "touch", Machine: m.Config(&[2]float64{}, 0), Blocks: true}, func(it *stream.Item) {
		if mv := it.Move; mv.Kind != machine.Still {
			mv.From.Z, mv.To.Z = m.Sigma()*mv.From.Z, m.Sigma()*mv.To.Z
			visit(mv, touched[it.Block.Line])
		}
	})
	if err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
}

// No rapid goes down, or along less than a mm over stock that bows as was said either way
// (over stock that also lies out of level, not into it); the tool goes up straight before
// it goes anywhere else, and over what stands there, where that was found clear; each move
// that touches reaches the stock; and each place is touched in the order of its number, the
// first again.
func TestRunsOverStock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bow := rapid.Float64Range(0.2, 14).Draw(t, "bow")
		w, h := rapid.Float64Range(20, 900).Draw(t, "w"), rapid.Float64Range(20, 400).Draw(t, "h")
		burns := orb.MultiLineString{{{0, 0}, {w, 0}, {w, h}, {0, h}, {0, 0}, {w, h}}}
		var datum *orb.Point
		if rapid.Bool().Draw(t, "datum") {
			datum = &orb.Point{rapid.Float64Range(0, w).Draw(t, "datum x"), rapid.Float64Range(0, h).Draw(t, "datum y")}
		}
		p, err := New(burns, Pitch{X: w / 4, Y: h / 3}, 2, datum, machine.Reach{})
		if err != nil {
			t.Fatal(err)
		}
		s := drawStock(t, p, bow)
		m := record.DefaultMachine()
		if rapid.Bool().Draw(t, "other bench") {
			m.Units, m.ZAxis, m.ZPlus, m.Numbered = record.UnitsInch, "W", record.Toward, true
			m.ProbeOffsetMM = [3]float64{12, -7, 1}
		}
		aloft := Aloft{OverMM: max(5, bow+1), PerMM: OutOfLevel, MostMM: math.Inf(1)}
		m.ProbeDepthMM = max(m.ProbeDepthMM, bow+1+p.Highest(aloft)-aloft.OverMM)
		var boxes []surface.Box
		for range rapid.IntRange(0, 2).Draw(t, "boxes") {
			x, y := rapid.Float64Range(-30, w).Draw(t, "x"), rapid.Float64Range(-30, h).Draw(t, "y")
			boxes = append(boxes, surface.Box{X0: x, Y0: y, X1: x + 9, Y1: y + 9, Height: rapid.Float64Range(1, 25).Draw(t, "height")})
		}
		start := [2]float64{p.Places[0][0] - m.ProbeOffsetMM[0], p.Places[0][1] - m.ProbeOffsetMM[1]}
		clear := p.Clear(m, aloft, boxes, 0, nil, &start) == nil
		text, err := p.Program(m, aloft, "made")
		if err != nil {
			t.Fatal(err)
		}
		room := 0.0
		if s.level {
			room = 1
		}
		const written = 1e-3 // what is written is that near
		k, first := 0, true
		run(t, m, string(text), s, func(mv machine.Move, touches bool) {
			from, to := orb.Point{mv.From.X + m.ProbeOffsetMM[0], mv.From.Y + m.ProbeOffsetMM[1]}, orb.Point{mv.To.X + m.ProbeOffsetMM[0], mv.To.Y + m.ProbeOffsetMM[1]}
			switch {
			case touches:
				if want := p.Places[k%len(p.Places)]; planar.Distance(to, want) > written || mv.Length > written {
					t.Fatalf("touch %d is at %v, not %v", k+1, to, want)
				}
				k++
			case !mv.Rapid:
				t.Fatalf("%+v is no travel", mv)
			case mv.Length > 0 && mv.From.Z != mv.To.Z && !first:
				t.Fatalf("%+v goes up and along", mv)
			case mv.Length == 0 && mv.To.Z < mv.From.Z:
				t.Fatalf("a rapid goes down: %+v", mv)
			case mv.Length > 0 && first: // from where the test starts
			case mv.Length > 0:
				if mv.To.Z < bow+1-written {
					t.Fatalf("travels at %g mm over the datum with a bow of %g", mv.To.Z, bow)
				}
				for n := range 51 {
					f := float64(n) / 50
					x, y := from[0]+f*(to[0]-from[0]), from[1]+f*(to[1]-from[1])
					// The way in, from a start beside the stock, is over what nobody drew.
					if over := mv.To.Z - s.height(x, y); over < room-written && (k > 0 || f == 1) {
						t.Fatalf("only %g mm over the stock at %g, %g: %+v", over, x, y, mv)
					}
					for _, b := range boxes {
						if clear && k > 0 && b.X0 <= x && x <= b.X1 && b.Y0 <= y && y <= b.Y1 && mv.To.Z < b.Height-written {
							t.Fatalf("travels at %g mm through %+v", mv.To.Z, b)
						}
					}
				}
			}
			first = false
		})
		if k != len(p.Places)+1 {
			t.Fatalf("%d touches of %d places", k, len(p.Places))
		}
	})
}

// Over flat stock a program takes as long as is said.
func TestSeconds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(20, 900).Draw(t, "w"), rapid.Float64Range(20, 400).Draw(t, "h")
		p, err := New(orb.MultiLineString{{{0, 0}, {w, h}}}, Pitch{X: w / 3, Y: h / 3}, 2, nil, machine.Reach{})
		if err != nil {
			t.Fatal(err)
		}
		m := record.DefaultMachine()
		aloft := Aloft{OverMM: 6, PerMM: OutOfLevel, MostMM: 9}
		text, err := p.Program(m, aloft, "made")
		if err != nil {
			t.Fatal(err)
		}
		seconds, first, k := 0.0, true, 0
		run(t, m, string(text), stock{func(x, y float64) float64 { return 0 }, true}, func(mv machine.Move, touches bool) {
			long := math.Hypot(mv.Length, mv.To.Z-mv.From.Z)
			switch {
			case touches:
				part := 1.0
				if k == 0 || k == len(p.Places) {
					part = slowPart
				}
				k++
				seconds += 60 * long / (part * m.ProbeFeedMMMin)
			case !first && k > 0: // the way in is not known
				seconds += 60 * long / m.RapidMMMin
			}
			first = false
		})
		if got := p.Seconds(m, aloft); math.Abs(got-seconds) > 1e-3*seconds {
			t.Fatalf("%g s, not %g", got, seconds)
		}
	})
}
