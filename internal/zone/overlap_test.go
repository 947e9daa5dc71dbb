package zone

import (
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

// overlaps are by how much, in mm, burns along x of the same Y overlap that stand in the
// programs of two zones.
func overlaps(t *testing.T, dir string, p *Plan) (list []float64) {
	t.Helper()
	burns := map[float64][][2]float64{} // by Y
	for i := range p.Zones {
		f, err := os.Open(filepath.Join(dir, p.Zones[i].Program))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		of := map[float64][2]float64{}
		err = stream.New(f, stream.Options{Name: "z", Machine: p.opt.Machine}).Each(func(it *stream.Item) error {
			take := func(m *machine.Move) {
				if m.Burn && m.From.Y == m.To.Y {
					y, b := math.Round(m.From.Y*1e3)/1e3, [2]float64{min(m.From.X, m.To.X), max(m.From.X, m.To.X)}
					if was, any := of[y]; any {
						b = [2]float64{min(b[0], was[0]), max(b[1], was[1])}
					}
					of[y] = b
				}
			}
			var line stream.Item
			for k := range it.Lines() {
				it.LineItem(k, &line)
				take(&line.Move)
			}
			if !it.IsRun() {
				take(&it.Move)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for y, b := range of {
			burns[y] = append(burns[y], b)
		}
	}
	for _, l := range burns {
		slices.SortFunc(l, func(a, b [2]float64) int { return int(math.Copysign(1, a[0]-b[0])) })
		for k := range l[1:] {
			list = append(list, l[k][1]-l[k+1][0])
		}
	}
	return list
}

// Lines overlap at seams by half their spot, cuts by 0.3 mm, rows of a raster meet, the first as well,
// and what is given holds for all. The list says the greatest. A line that turns in what
// two zones serve is parted there, and not cut.
func TestOverlaps(t *testing.T) {
	on := stock(t, 100, 20, "", func(x, y float64) float64 { return x / 50 })
	lines := func(apart float64) string {
		text := "G21 G90\nF3000\n"
		for k := range 6 {
			text += fmt.Sprintf("M5\nG0 X5 Y%g\nM3 S500\nG1 X95\n", 10+apart*float64(k))
		}
		return text + "M5\nM2\n"
	}
	corner := "G21 G90\nF3000\nG0 X5 Y10\nM3 S500\nG1 X30\nX50 Y20\nX70\nX95 Y30\nM5\nM2\n"
	for _, c := range []struct {
		name, text     string
		set            func(*Options)
		overlap, most  float64
		seams, changes int
	}{
		{"lines", lines(10), func(o *Options) {}, 0.2, 0.2, 6, 0},
		{"lines with a spot that is not known", lines(10), func(o *Options) { o.Lenses[0].Spot = 0 }, 0, 0, 6, 0},
		{"rows", lines(0.1), func(o *Options) {}, 0, 0, 6, 0},
		{"cuts", lines(10), func(o *Options) { o.Cuts = func(int, int, float64, float64) bool { return true } }, 0.3, 0.3, 6, 0},
		{"cuts side by side", lines(0.4), func(o *Options) { o.Cuts = func(int, int, float64, float64) bool { return true } }, 0.3, 0.3, 6, 0},
		{"given", lines(10), func(o *Options) { o.Overlap = 0.5 }, 0.5, 0.5, 6, 0},
		{"given for rows", lines(0.1), func(o *Options) { o.Overlap = 0.5 }, 0.5, 0.5, 6, 0},
		{"given as none", lines(10), func(o *Options) { o.OverlapSaid = true }, 0, 0, 6, 0},
		{"a corner", corner, func(o *Options) {}, 0, 0, 0, 1},
	} {
		opt := options(on, 0.6)
		opt.Lenses[0].Spot = 0.4
		c.set(&opt)
		dir := t.TempDir()
		p, err := Survey(strings.NewReader(c.text), opt)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Split(strings.NewReader(c.text), dir); err != nil {
			t.Fatal(err)
		}
		list := overlaps(t, dir, p)
		if len(list) != c.seams && c.seams > 0 || p.Cuts != c.seams || p.JointChanges != c.changes || p.Overlap != c.most || len(p.Zones) != 2 {
			t.Errorf("%s: overlaps %v, %d cuts, %d other changes, of %g, %d zones", c.name, list, p.Cuts, p.JointChanges, p.Overlap, len(p.Zones))
		}
		for _, by := range list {
			if c.seams > 0 && (by > c.overlap+1e-9 || by < c.overlap-0.003) {
				t.Errorf("%s: an overlap of %.4f mm, want %g", c.name, by, c.overlap)
			}
		}
	}
}
