package set

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawn is a small job and the two programs that it was divided into, by blocks.
// It lies over a surface that rises by 0.01, and everything up to X50 is in the
// first zone.
type drawn struct {
	original []string
	zones    [2][]string
	starts   [2][]int // of the figures, and where the last ends
	list     string
	comment  string // behind blocks
	end      string // of lines
}

func drawSet(t *rapid.T) *drawn {
	pick := func(label string, from ...string) string { return rapid.SampledFrom(from).Draw(t, label) }
	d := &drawn{comment: pick("comment", "", " ; why", " (why)"), end: pick("end", "\n", "\r\n")}
	setZ := rapid.Bool().Draw(t, "set z")
	d.list = fmt.Sprintf(`{"schema": 1, "set_z": %v, "zones": [{"program": "low", "lens": "a", "focus_mm": 0.25, "focus_point_mm": [25, 0]},
		{"program": "high", "lens": "a", "focus_mm": 0.75, "focus_point_mm": [75, 0]}]}`, setZ)
	focus := [2]float64{}
	if setZ {
		focus = [2]float64{0.25, 0.75}
	}
	add := func(k int, format string, args ...any) {
		d.zones[k] = append(d.zones[k], fmt.Sprintf(format, args...))
	}
	all := func(format string, args ...any) {
		d.original = append(d.original, fmt.Sprintf(format, args...))
		for k := range d.zones {
			add(k, format, args...)
		}
	}
	all("G21 G90")
	all("M5")
	for k := range d.zones {
		if setZ {
			add(k, "G0 Z%g", focus[k])
		}
	}
	all("G0 X0 Y0")
	// One burn in each zone, at least.
	figures := append([]int{3, 40, 60, 100}, rapid.SliceOfN(rapid.IntRange(0, 100), 0, 10).Draw(t, "x")...)
	for i := 0; i+1 < len(figures); i += 2 {
		x0, x1, y := figures[i], figures[i+1], 3+5*i
		if x0 == x1 {
			x1 = (x1 + 7) % 101
		}
		on := fmt.Sprintf("%s S%d", pick("on", "M3", "M4"), 100+i)
		pass := pick("pass", "", "", "-0.5")
		feed := rapid.SampledFrom([]int{600, 1000}).Draw(t, "feed")
		figure := pick("figure", "line", "line", "dwell", "circle")
		part := func(k, from int, block string) {
			if k >= 0 {
				d.starts[k] = append(d.starts[k], len(d.zones[k]))
			}
			write := func(z float64, to *[]string) {
				*to = append(*to, fmt.Sprintf("G0 X%d Y%d", from, y))
				if pass != "" {
					*to = append(*to, fmt.Sprintf("G0 Z%g", z-0.5))
				}
				*to = append(*to, on, block, "M5")
				if pass != "" {
					*to = append(*to, fmt.Sprintf("G0 Z%g", z))
				}
			}
			if k < 0 {
				write(0, &d.original)
				return
			}
			write(focus[k], &d.zones[k])
		}
		zone := func(x int) int {
			if x > 50 {
				return 1
			}
			return 0
		}
		block := fmt.Sprintf("G1 X%d F%d", x1, feed)
		switch {
		case figure == "dwell":
			block = "G4 P0.3"
			part(zone(x0), x0, block)
		case figure == "circle" && x0 != 50:
			x0 = min(max(x0, 3), 97)
			r := 1
			if x0 == 50 {
				x0++
			}
			if x0 > 50 {
				r = -1 // away from the seam
			}
			block = fmt.Sprintf("G2 X%d Y%d I%d J0 F%d", x0, y, -r, feed)
			part(zone(x0), x0, block)
		case zone(x0) == zone(x1) || x0 == 50 || x1 == 50:
			part(zone(x0+x1-50), x0, block)
		default:
			part(zone(x0), x0, fmt.Sprintf("G1 X50 F%d", feed))
			part(zone(x1), 50, block)
		}
		part(-1, x0, block)
	}
	for k := range d.starts {
		d.starts[k] = append(d.starts[k], len(d.zones[k]))
	}
	all("G0 X0 Y0")
	all("M2")
	if rapid.Bool().Draw(t, "shuffled") {
		d.shuffle(t)
	}
	return d
}

// shuffle has each zone burn its figures, which do not touch, in another order.
func (d *drawn) shuffle(t *rapid.T) {
	for k, starts := range d.starts {
		var figures [][]string
		for i, at := range starts[:len(starts)-1] {
			figures = append(figures, slices.Clone(d.zones[k][at:starts[i+1]]))
		}
		figures = rapid.Permutation(figures).Draw(t, "figures")
		copy(d.zones[k][starts[0]:], slices.Concat(figures...))
	}
}

// text joins blocks to a program; a block with a leading "+" is glued to the one
// before.
func (d *drawn) text(blocks []string) string {
	s := strings.Join(blocks, d.comment+d.end) + d.comment + d.end
	return strings.ReplaceAll(s, d.end+"+", "")
}

func isBurn(block string) bool {
	return slices.Contains([]string{"G1 ", "G2 ", "G4 "}, block[:min(3, len(block))])
}

// defects spoil a zone's program at the burn block i.
var defects = map[string]func(p []string, i int) []string{
	"none":    func(p []string, _ int) []string { return p },
	"dropped": func(p []string, i int) []string { return slices.Delete(p, i, i+1) },
	"doubled": func(p []string, i int) []string {
		from := i - 1
		for p[from] == "M5" || !strings.Contains(p[from], "Y") {
			from--
		}
		return slices.Insert(p, i+2, p[from:i+2]...)
	},
	"moved": func(p []string, i int) []string {
		for i--; !strings.Contains(p[i], "Y"); i-- {
		}
		p[i] += ".02"
		return p
	},
	"moved along": func(p []string, i int) []string {
		if p[i][:2] != "G1" {
			p[i] += "\x00"
			return p
		}
		p[i] = strings.Replace(p[i], " F", ".02 F", 1)
		return p
	},
	"power": func(p []string, i int) []string { p[i-1] += ".5"; return p },
	"mode": func(p []string, i int) []string {
		p[i-1] = strings.NewReplacer("M3", "M4", "M4", "M3").Replace(p[i-1])
		return p
	},
	"feed": func(p []string, i int) []string {
		was := p[i]
		if p[i] = strings.NewReplacer("F1000", "F1010", "F600", "F590").Replace(p[i]); p[i] == was {
			p[i] += "1" // a dwell
		}
		return p
	},
	"beam left on":       func(p []string, i int) []string { return slices.Delete(p, i+1, i+2) },
	"wait":               func(p []string, i int) []string { return slices.Insert(p, i+1, "M0") },
	"lit":                func(p []string, i int) []string { return slices.Insert(p, i+2, "M3", "G0 Z3", "M5") },
	"Z":                  func(p []string, i int) []string { return slices.Insert(p, i-1, "G91", "G0 Z0.8", "G90") },
	"glued":              func(p []string, i int) []string { p[i+1] = "+" + p[i+1]; return p },
	"glued before":       func(p []string, i int) []string { p[i-1] = "+" + p[i-1]; return p },
	"swapped":            func(p []string, i int) []string { p[i], p[i+1] = p[i+1], p[i]; return p },
	"swapped before":     func(p []string, i int) []string { p[i-1], p[i] = p[i], p[i-1]; return p },
	"tool":               func(p []string, i int) []string { return slices.Insert(p, i-1, "M6 T1") },
	"output":             func(p []string, i int) []string { return slices.Insert(p, i-1, "M64 P1") },
	"output behind":      func(p []string, i int) []string { return slices.Insert(p, i+2, "M106 P1") },
	"air":                func(p []string, i int) []string { return slices.Insert(p, i-1, "M8") },
	"air and mist":       func(p []string, i int) []string { return slices.Insert(p, i-1, "M7") },
	"relit":              func(p []string, i int) []string { p[i+1] = "M3 S100"; return p },
	"ends early":         func(p []string, i int) []string { return slices.Insert(p, i-1, "M2") },
	"ends by M30":        func(p []string, i int) []string { return slices.Insert(p, i-1, "M30") },
	"wait at power 0":    func(p []string, i int) []string { p[i+1] = "S0"; return slices.Insert(p, i+2, "M0", "M5") },
	"tool at power 0":    func(p []string, i int) []string { p[i+1] = "S0"; return slices.Insert(p, i+2, "M6", "M5") },
	"ends at power 0":    func(p []string, i int) []string { return append(p[:len(p)-1], "M4 S0") },
	"ends behind no end": func(p []string, i int) []string { return append(p, "M3 S0") },
	"lit wait":           func(p []string, i int) []string { return slices.Insert(p, i+1, "S900", "M1") },
	"cut off":            func(p []string, i int) []string { return p[:i] },
	"ends lit":           func(p []string, i int) []string { return append(p[:len(p)-1], "M4") },
	"tool alone":         func(p []string, i int) []string { return slices.Insert(p, i-1, "T2") },
	"controller":         func(p []string, i int) []string { return slices.Insert(p, i-1, "$H") },
	"controller end":     func(p []string, _ int) []string { return slices.Insert(p, len(p)-1, "$J=G91X9F900") },
	"work offset":        func(p []string, _ int) []string { return slices.Insert(p, 1, "G55") },
	"stored offset":      func(p []string, _ int) []string { return slices.Insert(p, 1, "G10 L2 P1 X5") },
	"path control":       func(p []string, i int) []string { return slices.Insert(p, i-1, "G64 P1") },
	"air in a travel": func(p []string, i int) []string {
		for i--; !strings.Contains(p[i], "Y"); i-- {
		}
		return slices.Insert(p, i, "M8", p[i], "M9")
	},
	"air at the end":       func(p []string, _ int) []string { return slices.Insert(p, len(p)-2, "M7") },
	"no end":               func(p []string, _ int) []string { return p[:len(p)-1] },
	"modes unsaid":         func(p []string, _ int) []string { return p[1:] },
	"units unsaid":         func(p []string, _ int) []string { p[0] = "G90"; return p },
	"distance mode unsaid": func(p []string, _ int) []string { p[0] = "G21"; return p },
	"modes said late":      func(p []string, _ int) []string { return slices.Insert(p[1:], 2, p[0]) },
	"other end":            func(p []string, i int) []string { return append(p[:len(p)-1], "G91") },
}

// A set that is whole holds; with any one defect in it, it does not.
func TestOneDefectIsRefused(t *testing.T) {
	names := []string{}
	for name := range defects {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				d := drawSet(rt)
				k := rapid.IntRange(0, 1).Draw(rt, "zone")
				var burns []int
				for i, block := range d.zones[k] {
					if isBurn(block) {
						burns = append(burns, i)
					}
				}
				d.zones[k] = defects[name](d.zones[k], rapid.SampledFrom(burns).Draw(rt, "burn"))
				low, high := d.text(d.zones[0]), d.text(d.zones[1])
				if strings.Contains(low+high, "\x00") {
					rt.Skip("no such burn")
				}
				res := runSet(t, d.list, map[string]string{"low": low, "high": high}, d.text(d.original), nil)
				if res.Holds() != (name == "none") {
					rt.Fatalf("holds %v: %s\n%s\n%s\n%s", res.Holds(), failuresOf(res), d.text(d.original), low, high)
				}
			})
		})
	}
}
