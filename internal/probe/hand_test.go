package probe

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/svg"
	"sagitta/internal/touch"
)

func drawPlaces(t *rapid.T) *Probing {
	w, h := rapid.Float64Range(5, 700).Draw(t, "w"), rapid.Float64Range(5, 500).Draw(t, "h")
	x, y := rapid.Float64Range(-300, 300).Draw(t, "x"), rapid.Float64Range(-300, 300).Draw(t, "y")
	burns := orb.MultiLineString{{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}}
	var datum *orb.Point
	if rapid.Bool().Draw(t, "datum") {
		datum = &orb.Point{x + w/2, y + h}
	}
	p, err := New(burns, Pitch{X: max(w/rapid.Float64Range(1, 14).Draw(t, "across"), 2), Y: max(h/3, 2)}, 2, datum, machine.Reach{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A sheet that was filled in is read as it was filled in, place by place in the order of
// the numbers, with no drift in it; a line is no longer than a page is wide.
func TestFilledSheetIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaces(t)
		p.Zero = rapid.SampledFrom([]string{"", "on the stock at the datum, X10.000 Y10.000, as when it was measured"}).Draw(t, "zero")
		a, b := rapid.Float64Range(-0.01, 0.01).Draw(t, "a"), rapid.Float64Range(-0.01, 0.01).Draw(t, "b")
		// What lies under the gauge at all places is no height.
		feeler := rapid.SampledFrom([]float64{0, 0.1, 0.08}).Draw(t, "feeler")
		height := func(q orb.Point) float64 {
			return math.Round(1e4*(a*(q[0]-p.Places[0][0])+b*(q[1]-p.Places[0][1])+feeler)) / 1e4
		}
		sheet := p.Sheet("a,b 3 (4).gcode: places", feeler)
		if (feeler > 0) != strings.Contains(string(sheet), phrase.Short(feeler)+" mm thick") {
			t.Fatalf("a strip of %g mm: %s", feeler, sheet)
		}
		var filled strings.Builder
		for line := range strings.Lines(string(sheet)) {
			if phrase.Columns(strings.TrimRight(line, "\n")) > setup.Columns {
				t.Fatalf("longer than a page is wide: %s", line)
			}
			if blank, is := strings.CutSuffix(line, ",\n"); is && line[0] != '#' {
				nr, _, _ := strings.Cut(line, ",")
				k, err := strconv.Atoi(nr)
				if err != nil {
					t.Fatal(err)
				}
				line = fmt.Sprintf("%s,%.4f\n", blank, height(p.Places[k-1]))
			}
			filled.WriteString(line)
		}
		r, err := touch.Read(strings.NewReader(filled.String()), "sheet", touch.Options{})
		if err != nil {
			t.Fatalf("%v\n%s", err, filled.String())
		}
		if len(r.Points) != len(p.Places)+1 {
			t.Fatalf("%d read of %d places", len(r.Points), len(p.Places))
		}
		for k, got := range r.Points {
			if q := p.Places[k%len(p.Places)]; math.Hypot(got.X-q[0], got.Y-q[1]) > 1e-9 || math.Abs(got.Z-height(q)) > 1e-9 {
				t.Fatalf("place %d, %v, is read as %+v", k+1, q, got)
			}
		}
		if d := touch.Undrift(r.Points, 0); d == nil || d.MM != 0 || d.At != [2]float64(p.Places[0]) || d.Verdict != touch.Chance {
			t.Fatalf("drift: %+v", d)
		}
	})
}

var (
	pageHead = regexp.MustCompile(`<svg [^>]*width="(\d+)mm" height="(\d+)mm"`)
	ring     = regexp.MustCompile(fmt.Sprintf(`<circle cx="([0-9.]+)" cy="([0-9.]+)" r="(?:%g|%g)"`, crossRing, datumRing))
	number   = regexp.MustCompile(fmt.Sprintf(`<text x="([0-9.]+)" y="([0-9.]+)" font-size="%g" fill="[^"]+"[^>]*>(\d+)<`, numberSize))
)

// Maps are pages of A4, XML whatever the title; each place is drawn where the scale has it,
// on the page that it lies on; no number lies over another, and each is beside its own
// place; where there is room for one, that place has its number.
func TestMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaces(t)
		l := svg.LayOut(orb.MultiPoint(p.Places).Bound().Union(p.Burns.Bound()).Pad(svg.Pad), 2*numberSize)
		drawn, numbered := map[int]bool{}, map[int]bool{}
		for n, text := range p.Map("a <b> & c") {
			if err := xml.Unmarshal(text, new(any)); err != nil {
				t.Fatal(err)
			}
			size := pageHead.FindSubmatch(text)
			if got := string(bytes.Join(size[1:], []byte("x"))); got != "210x297" && got != "297x210" {
				t.Fatalf("a page of %s mm", got)
			}
			leaf := l.Leaf(n, "")
			leaf.Draw(func() {})
			for _, g := range ring.FindAllSubmatch(text, -1) {
				k := slices.IndexFunc(p.Places, func(q orb.Point) bool {
					at := leaf.Place(q)
					return math.Hypot(at[0]-mm(g[1]), at[1]-mm(g[2])) < 0.002
				})
				if k < 0 {
					t.Fatalf("page %d: no place is at %s, %s", n+1, g[1], g[2])
				}
				drawn[k] = true
			}
			var taken []orb.Bound
			for _, g := range number.FindAllSubmatch(text, -1) {
				k, _ := strconv.Atoi(string(g[3]))
				numbered[k] = true
				x, y := mm(g[1]), mm(g[2])
				box := orb.Bound{Min: orb.Point{x, y - numberSize}, Max: orb.Point{x + float64(len(g[3]))*svg.CharWidth*numberSize, y}}
				if slices.ContainsFunc(taken, box.Intersects) {
					t.Fatalf("page %d: number %d lies over another", n+1, k)
				}
				taken = append(taken, box)
				if !box.Pad(crossRing + 2).Contains(orb.Point(leaf.Place(p.Places[k-1]))) {
					t.Fatalf("page %d: number %d is not beside its place", n+1, k)
				}
			}
		}
		if len(drawn) != len(p.Places) || !numbered[1] || len(p.X) < 8 && l.Per == 1 && p.X[1]-p.X[0] > 12 && p.Y[1]-p.Y[0] > 12 && len(numbered) != len(p.Places) {
			t.Fatalf("%d places drawn of %d, numbers %d", len(drawn), len(p.Places), len(numbered))
		}
	})
}

func mm(b []byte) float64 {
	v, _ := strconv.ParseFloat(string(b), 64)
	return v
}
