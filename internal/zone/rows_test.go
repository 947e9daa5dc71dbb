package zone

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// pixelRows is a raster of rows 0.2 mm apart over 100 mm, each in pixels of so many mm, to
// and fro or all one way.
func pixelRows(n int, pixel float64, toAndFro bool) string {
	var b strings.Builder
	b.WriteString("G21 G90\nM4 S0\nF3000\n")
	for k := range n {
		from, way := 0.0, 1.0
		if toAndFro && k%2 == 1 {
			from, way = 100, -1
		}
		fmt.Fprintf(&b, "G0 X%g Y%.3f\n", from, 10+0.2*float64(k))
		for i := 1; float64(i)*pixel <= 100+rounding; i++ {
			fmt.Fprintf(&b, "G1 X%.3f S%d\n", from+way*float64(i)*pixel, 100+i*7919%900)
		}
	}
	b.WriteString("M5\nM2\n")
	return b.String()
}

// seams are where along x burns of a row end in a zone's program that go on in
// another's, by row.
func seams(t *testing.T, dir string, p *Plan) map[int][]float64 {
	t.Helper()
	ends := map[int][]float64{}
	for i := range p.Zones {
		f, err := os.Open(filepath.Join(dir, p.Zones[i].Program))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		burns := map[int][][2]float64{} // by row
		source := stream.New(f, stream.Options{Name: "zone", Machine: p.opt.Machine})
		err = source.Each(func(it *stream.Item) error {
			take := func(m *machine.Move) {
				if m.Burn {
					row := int(math.Round((m.From.Y - 10) / 0.2))
					burns[row] = append(burns[row], [2]float64{min(m.From.X, m.To.X), max(m.From.X, m.To.X)})
				}
			}
			if !it.IsRun() {
				take(&it.Move)
			}
			var line stream.Item
			for k := range it.Lines() {
				it.LineItem(k, &line)
				take(&line.Move)
			}
			source.Done(it)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for row, list := range burns {
			slices.SortFunc(list, func(a, b [2]float64) int { return int(math.Copysign(1, a[0]-b[0])) })
			for k, b := range list {
				if end := b[1]; end < 100-0.01 && (k+1 == len(list) || list[k+1][0] > end+0.001) {
					ends[row] = append(ends[row], end)
				}
			}
		}
	}
	for _, list := range ends {
		slices.Sort(list)
	}
	return ends
}

// Seams of neighbouring rows of a raster over a cylinder stand well apart where both
// zones serve more, without a cut more: a row crosses as few zones as it can.
func TestSeamsOfRowsDoNotLineUp(t *testing.T) {
	const n, pixel = 40, 0.5
	on := stock(t, 100, 2, "", func(x, y float64) float64 { d := x - 50; return math.Sqrt(400*400-d*d) - 400 + 3.2 })
	for _, c := range []struct {
		name  string
		text  string
		least float64 // part of where both serve that lies between neighbours' seams
	}{
		{"rows in one line", pixelRows(n, 100, false), 0.25}, {"to and fro in one line", pixelRows(n, 100, true), 0.25},
		{"pixels", pixelRows(n, pixel, false), 0.2}, {"pixels to and fro", pixelRows(n, pixel, true), 0.2},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt := options(on, 0.7)
			dir := t.TempDir()
			p, err := Survey(strings.NewReader(c.text), opt)
			if err != nil {
				t.Fatal(err)
			}
			if err := p.Split(strings.NewReader(c.text), dir); err != nil {
				t.Fatal(err)
			}
			again := t.TempDir()
			q, err := Survey(strings.NewReader(c.text), opt)
			if err != nil {
				t.Fatal(err)
			}
			if err := q.Split(strings.NewReader(c.text), again); err != nil {
				t.Fatal(err)
			}
			for i := range p.Zones {
				a, _ := os.ReadFile(filepath.Join(dir, p.Zones[i].Program))
				b, _ := os.ReadFile(filepath.Join(again, p.Zones[i].Program))
				if len(a) == 0 || !bytes.Equal(a, b) {
					t.Errorf("%s differs from run to run", p.Zones[i].Program)
				}
			}
			if got, want := p.Cuts+p.JointChanges, n*2*(len(p.Zones)-1); got != want {
				t.Errorf("%d cuts and changes of %d zones, want %d", got, len(p.Zones), want)
			}
			// Where both of two neighbouring zones serve, left of the crown.
			both := func(i int) float64 {
				at := func(h float64) float64 { return 50 - math.Sqrt(400*400-(h-3.2+400)*(h-3.2+400)) }
				return math.Abs(at(p.Zones[i].Band.Lo) - at(p.Zones[i+1].Band.Hi))
			}
			ends, spread := seams(t, dir, p), 0
			for row := range n - 1 {
				if len(ends[row]) != 2*(len(p.Zones)-1) || len(ends[row+1]) != len(ends[row]) {
					t.Fatalf("row %d: %v, then %v", row, ends[row], ends[row+1])
				}
				for k, x := range ends[row] {
					wide := both(len(p.Zones) - 2 - min(k, len(ends[row])-1-k))
					if wide < 2 {
						continue
					}
					spread++
					if apart := math.Abs(ends[row+1][k] - x); apart < c.least*wide-pixel/2 {
						t.Errorf("row %d: a seam at X%.3f, the next row's at X%.3f, of %.2f mm that both serve", row, x, ends[row+1][k], wide)
					}
				}
			}
			if spread < n {
				t.Errorf("only %d seams had room to be spread", spread)
			}
		})
	}
}
