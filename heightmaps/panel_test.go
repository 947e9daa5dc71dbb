package heightmaps

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

var write = flag.Bool("write", false, "write panel.csv anew from its formula")

// The panel's nodes in mm, and the node where the probe was zeroed.
const (
	panelX, panelY, panelStep = 300, 200, 25
	panelZeroX, panelZeroY    = 25, 25
)

// panelShape is the panel's height in mm before it is zeroed: the formula of
// README.md.
func panelShape(x, y int) float64 {
	u, v := float64(x-150)/150, float64(y-100)/100
	cup := 4 * v * v
	twist := 0.6 * u * v
	bumps := 0.1 * math.Sin(2*math.Pi*float64(x)/110) * math.Sin(2*math.Pi*float64(y)/90+1)
	return cup + twist + bumps
}

func makePanel() []byte {
	var b bytes.Buffer
	b.WriteString("# a thin plywood panel, 300 x 200 mm, cupped and twisted in a damp store (invented)\n")
	fmt.Fprintf(&b, "# a row for each y, a column for each x; the probe was zeroed at the node %d, %d\n", panelZeroX, panelZeroY)
	b.WriteString("# units: mm\n# heights: up\n# noise_mm: 0.02\n# error_mm: 0.03\n")
	for x := 0; x <= panelX; x += panelStep {
		fmt.Fprintf(&b, ",%d", x)
	}
	for y := 0; y <= panelY; y += panelStep {
		fmt.Fprintf(&b, "\n%d", y)
		for x := 0; x <= panelX; x += panelStep {
			fmt.Fprintf(&b, ",%s", decimals3(panelShape(x, y)-panelShape(panelZeroX, panelZeroY)))
		}
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// decimals3 writes three decimals, and zero without a sign.
func decimals3(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000+0, 'f', 3, 64)
}

func TestPanelIsWhatItsFormulaMakes(t *testing.T) {
	want := makePanel()
	if *write {
		if err := os.WriteFile("panel.csv", want, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("panel.csv written: run again without -write")
	}
	if !bytes.Equal(Panel(), want) {
		t.Error("panel.csv differs from its formula: go test ./heightmaps -write makes it anew")
	}
	// No node may sit so near half a decimal that another processor's last
	// bit rounds it the other way.
	for y := 0; y <= panelY; y += panelStep {
		for x := 0; x <= panelX; x += panelStep {
			v := (panelShape(x, y) - panelShape(panelZeroX, panelZeroY)) * 1000
			if math.Abs(v-math.Floor(v)-0.5) < 1e-6 {
				t.Errorf("node %d, %d: %.9f is too near a rounding edge", x, y, v)
			}
		}
	}
}

// grid reads the embedded file on its own, apart from the code that made it.
func grid(t *testing.T) (xs, ys []float64, h [][]float64, notes map[string]string) {
	t.Helper()
	notes = map[string]string{}
	for line := range strings.Lines(string(Panel())) {
		line = strings.TrimSuffix(line, "\n")
		if note, ok := strings.CutPrefix(line, "# "); ok {
			if key, value, ok := strings.Cut(note, ": "); ok {
				notes[key] = value
			}
			continue
		}
		var row []float64
		for i, f := range strings.Split(line, ",") {
			if i == 0 && f == "" && xs == nil {
				continue
			}
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		if xs == nil {
			xs = row
			continue
		}
		ys, h = append(ys, row[0]), append(h, row[1:])
	}
	return xs, ys, h, notes
}

// What README.md promises of the panel.
func TestPanelAsDescribed(t *testing.T) {
	xs, ys, h, notes := grid(t)
	for key, want := range map[string]string{"units": "mm", "heights": "up", "noise_mm": "0.02", "error_mm": "0.03"} {
		if notes[key] != want {
			t.Errorf("header %s: %q, want %q", key, notes[key], want)
		}
	}
	if len(xs) != 13 || len(ys) != 9 || xs[0] != 0 || xs[12] != 300 || ys[0] != 0 || ys[8] != 200 {
		t.Fatalf("nodes %v, %v", xs, ys)
	}
	steepest := 0.0
	count := func(rise, run float64) {
		if run <= 0 {
			t.Fatal("nodes are not in rising order")
		}
		steepest = max(steepest, math.Abs(rise)/run)
	}
	for j := range ys {
		if len(h[j]) != len(xs) {
			t.Fatalf("row %d has %d heights", j, len(h[j]))
		}
		for i := range xs {
			if i > 0 {
				count(h[j][i]-h[j][i-1], xs[i]-xs[i-1])
			}
			if j > 0 {
				count(h[j][i]-h[j-1][i], ys[j]-ys[j-1])
			}
		}
	}
	if h[1][1] != 0 {
		t.Errorf("height %g at the zeroed node", h[1][1])
	}
	// A Z axis of 600 mm/min at a feed of 3000 mm/min climbs 0.2: half of it
	// leaves room for moves across both directions.
	if steepest > 0.1 {
		t.Errorf("steepest step %g, want at most 0.1", steepest)
	}
	mid := (h[4][0] + h[4][12]) / 2
	if cup := (h[0][0]+h[0][12]+h[8][0]+h[8][12])/4 - mid; math.Abs(cup-4) > 0.2 {
		t.Errorf("cup %g mm, want about 4", cup)
	}
	if twist := (h[0][0] - h[0][12] - h[8][0] + h[8][12]) / 2; math.Abs(twist-1.2) > 0.2 {
		t.Errorf("twist %g mm, want about 1.2", twist)
	}
}

func TestPanelIsACopy(t *testing.T) {
	Panel()[0] = 'x'
	if Panel()[0] != '#' {
		t.Error("writing into one copy changes the next")
	}
}
