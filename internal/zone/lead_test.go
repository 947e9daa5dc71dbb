package zone

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// rowsWith is a raster of rows along x from 20 to 80, 0.2 mm apart, with an overscan on
// both sides.
func rowsWith(overscan float64, n int, toAndFro bool) string {
	var b strings.Builder
	b.WriteString("G21 G90\nM4 S0\nF6000\n")
	for k := range n {
		a, z := 20.0, 80.0
		if toAndFro && k%2 == 1 {
			a, z = z, a
		}
		way := math.Copysign(overscan, z-a)
		fmt.Fprintf(&b, "G0 X%g Y%.1f\n", a-way, 10+0.2*float64(k))
		if overscan > 0 {
			fmt.Fprintf(&b, "G1 X%g S0\n", a)
		}
		fmt.Fprintf(&b, "G1 X%g S500\n", z)
		if overscan > 0 {
			fmt.Fprintf(&b, "G1 X%g S0\n", z+way)
		}
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.String()
}

// ways are how far each unbroken burn of a zone's program is run into straight ahead at
// feed, and out of, in mm.
type ways struct{ from, to, in, out float64 }

// waysOf walks a program: what is at feed with the beam off along x counts.
func waysOf(t *testing.T, name string) (list []ways) {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in, burning, out := 0.0, false, false
	take := func(m *machine.Move) {
		switch way := m.To.X - m.From.X; {
		case m.Burn && !burning:
			list = append(list, ways{from: m.From.X, to: m.To.X, in: in})
			burning, out, in = true, true, 0
		case m.Burn:
			list[len(list)-1].to = m.To.X
		case m.Rapid || m.From.Y != m.To.Y:
			in, burning, out = 0, false, false
		default:
			in += math.Abs(way)
			if burning = false; out {
				list[len(list)-1].out += math.Abs(way)
			}
		}
	}
	err = stream.New(f, stream.Options{Name: name, Machine: machine.DefaultConfig()}).Each(func(it *stream.Item) error {
		var line stream.Item
		for k := range it.Lines() {
			it.LineItem(k, &line)
			take(&line.Move)
		}
		if it.Moves() && !it.IsRun() {
			take(&it.Move)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// A burn is entered and left over the original's overscan where there is one, at seams
// as well; else at seams over what is given, or over v²/2a, never beyond the reach or,
// where that is not known, beyond what the original goes over. What is shorter is told.
func TestRunIn(t *testing.T) {
	on := stock(t, 100, 2, "", func(x, y float64) float64 { d := x - 50; return math.Sqrt(400*400-d*d) - 400 + 3.2 })
	for _, c := range []struct {
		name        string
		overscan    float64
		set         func(*Options)
		ends, seams float64 // how far ends of rows and seams are run into and out of
		high        float64 // the greatest X there may be
		slow        bool    // there are burns that are too slow
	}{
		{"nothing", 0, func(o *Options) {}, 0, 0, 80, false},
		{"overscan", 9, func(o *Options) {}, 9, 9, 89, false},
		{"overscan one way", 9, func(o *Options) {}, 9, 9, 89, false},
		{"original order, overscan", 9, func(o *Options) {}, 9, 9, 89, false},
		{"original order, overscan one way", 9, func(o *Options) {}, 9, 9, 89, false},
		{"original order, given", 0, func(o *Options) { o.Lead = 2 }, 0, 2, 80, false},
		{"original order, acceleration", 0, func(o *Options) { o.Accel = 1000 }, 0, 5, 80, true},
		{"overscan before what is given", 9, func(o *Options) { o.Lead, o.Accel = 2, 500 }, 9, 9, 89, true},
		{"given", 0, func(o *Options) { o.Lead = 2 }, 0, 2, 80, false},
		{"given before acceleration", 0, func(o *Options) { o.Lead, o.Accel = 2, 500 }, 0, 2, 80, true},
		{"given as none", 0, func(o *Options) { o.LeadSaid, o.Accel = true, 500 }, 0, 0, 80, true},
		{"acceleration", 0, func(o *Options) { o.Accel = 1000 }, 0, 5, 80, true}, // (100 mm/s)² / 2000
		{"within the original", 0, func(o *Options) { o.Accel = 250 }, 0, 20, 80, true},
		{"within the bed", 0, func(o *Options) { o.Lead, o.Reach.X = 30, &[2]float64{0, 90} }, 0, 30, 90, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt := options(on, 0.25)
			c.set(&opt)
			opt.Original = strings.HasPrefix(c.name, "original order")
			oneWay := strings.HasSuffix(c.name, "one way")
			text := rowsWith(c.overscan, 12, !oneWay)
			dir := t.TempDir()
			p, err := Survey(strings.NewReader(text), opt)
			if err != nil {
				t.Fatal(err)
			}
			if err := p.Split(strings.NewReader(text), dir); err != nil {
				t.Fatal(err)
			}
			shorter, seams, whole, less, slow, low, high := 0, 0, 0, 0, 0, 100.0, -100.0
			for i := range p.Zones {
				shorter += p.Zones[i].Shorter
				slow += p.Zones[i].TooSlow
				for _, w := range waysOf(t, filepath.Join(dir, p.Zones[i].Program)) {
					for _, end := range [2]struct{ at, over float64 }{{w.from, w.in}, {w.to, w.out}} {
						want := c.seams
						if end.at == 20 || end.at == 80 {
							want = c.ends
						} else {
							seams++
						}
						switch off := end.over - want; {
						case math.Abs(off) < 0.002:
							whole++
						case off < 0 && want == c.seams: // uphill the stock is in the way
							less++
						default:
							t.Errorf("zone %d: at X%.3f it runs %.3f mm, want %g", i+1, end.at, end.over, want)
						}
					}
				}
				f, err := os.Open(filepath.Join(dir, p.Zones[i].Program))
				if err != nil {
					t.Fatal(err)
				}
				defer f.Close()
				if err := stream.New(f, stream.Options{Name: "z", Machine: opt.Machine}).Each(func(it *stream.Item) error {
					if it.Moves() && it.Move.Kind == machine.Line {
						low, high = min(low, it.Move.To.X), max(high, it.Move.To.X)
					}
					return nil
				}); err != nil {
					t.Fatal(err)
				}
			}
			if oneWay && opt.Original { // behind the last row Z rises at once for the way home
				less--
			}
			if seams < 48 || shorter != less || whole < 24 || p.Paced != (opt.Accel > 0) || (slow > 0) != c.slow {
				t.Errorf("%d ends at seams, %d shorter, want %d, %d whole, paced %v, %d too slow", seams, shorter, less, whole, p.Paced, slow)
			}
			if low < 0 || high > c.high {
				t.Errorf("from X%g to X%g", low, high)
			}
		})
	}
}
