package zone_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// size is the side of the square that drawn programs stay in, in mm.
const size = 60.0

func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// drawSurface draws a sheet over the square whose slopes are those of stock.
func drawSurface(t *rapid.T) *surface.Placed {
	axis := func(label string) (v []float64) {
		v = append(v, -1)
		for v[len(v)-1] < size {
			v = append(v, v[len(v)-1]+pick(t, label, 5.0, 11, 20, 33))
		}
		return v
	}
	x, y := axis("dx"), axis("dy")
	scale := pick(t, "scale", 0.0, 0.2, 0.6, 1.2)
	method := pick(t, "method", "bilinear", "bilinear", "bicubic")
	return surfacetest.Of(t, method, x, y, func(_, _ float64) float64 { return scale * rapid.Float64Range(-1, 1).Draw(t, "z") })
}

// pen draws a program block by block.
type pen struct {
	t         *rapid.T
	b         strings.Builder
	x, y      float64 // mm, as the controller has them
	rel, inch bool
	inverse   bool
	lower     bool
	plain     bool
}

func (p *pen) line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	if p.lower {
		s = strings.ToLower(s)
	}
	eol := "\n"
	if !p.plain {
		eol = pick(p.t, "eol", "\n", "\n", "\r\n", " ; why\n", "(what)\n")
	}
	p.b.WriteString(s + eol)
}

func (p *pen) unit() float64 {
	if p.inch {
		return 25.4
	}
	return 1
}

// xy gives the words to go to a place, and goes there.
func (p *pen) xy(x, y float64) string {
	u, digits := p.unit(), 3
	if p.inch {
		digits = 5
	}
	clamp := func(v float64) float64 { return math.Max(0, math.Min(size, v)) }
	nx, ny := clamp(x)/u, clamp(y)/u
	if p.rel {
		nx, ny = (clamp(x)-p.x)/u, (clamp(y)-p.y)/u
	}
	q := math.Pow10(digits)
	nx, ny = math.Round(nx*q)/q, math.Round(ny*q)/q
	if p.rel {
		p.x, p.y = p.x+nx*u, p.y+ny*u
	} else {
		p.x, p.y = nx*u, ny*u
	}
	return fmt.Sprintf("X%.*f Y%.*f", digits, nx, digits, ny)
}

func (p *pen) to() (x, y float64) {
	switch pick(p.t, "reach", "far", "far", "near", "hair", "along") {
	case "near":
		return p.x + rapid.Float64Range(-2, 2).Draw(p.t, "x"), p.y + rapid.Float64Range(-2, 2).Draw(p.t, "y")
	case "hair":
		return p.x + pick(p.t, "hx", 0.001, -0.001, 0.05, 0.1), p.y
	case "along":
		return rapid.Float64Range(0, size).Draw(p.t, "x"), p.y
	}
	return rapid.Float64Range(0, size).Draw(p.t, "x"), rapid.Float64Range(0, size).Draw(p.t, "y")
}

func (p *pen) feed(length float64) string {
	if p.inverse {
		return fmt.Sprintf(" F%.4f", 900/math.Max(length, 0.01))
	}
	if f := pick(p.t, "f", 0.0, 0, 300, 1500); f > 0 {
		return fmt.Sprintf(" F%.2f", f/p.unit())
	}
	return ""
}

// arc draws a half or a full circle about a centre beside the start.
func (p *pen) arc() {
	u := p.unit()
	r := pick(p.t, "r", 0.4, 3.0, 10, 18)
	i := math.Round(r/u*1e4) / 1e4
	r = i * u
	if p.x+2*r > size || p.y < r || p.y > size-r {
		return
	}
	dir := pick(p.t, "dir", "G2", "G3")
	switch pick(p.t, "arc", "full", "half", "R") {
	case "full":
		p.line("%s I%.4f J0%s", dir, i, p.feed(2*math.Pi*r))
	case "half":
		words := fmt.Sprintf("X%.4f", 2*i)
		if !p.rel {
			words = fmt.Sprintf("X%.6f Y%.6f", p.x/u+2*i, p.y/u)
			p.x = math.Round((p.x/u+2*i)*1e6) / 1e6 * u
			p.y = math.Round(p.y/u*1e6) / 1e6 * u
		} else {
			p.x += 2 * r
		}
		p.line("%s %s I%.4f%s", dir, words, i, p.feed(math.Pi*r))
	case "R":
		p.line("%s %s R%.4f%s", dir, p.xy(p.x+1.2*r, p.y), i, p.feed(2*r))
	}
	p.line("G1")
}

// mode changes something that lasts.
func (p *pen) mode() {
	switch pick(p.t, "mode", "distance", "distance", "units", "time", "air", "path") {
	case "distance":
		p.rel = !p.rel
		p.line("%s", map[bool]string{false: "G90", true: "G91"}[p.rel])
	case "units":
		if p.inverse {
			return
		}
		p.inch = !p.inch
		p.line("%s F%.1f", map[bool]string{false: "G21", true: "G20"}[p.inch], 1200/p.unit())
	case "time":
		p.inverse = !p.inverse
		if p.inverse {
			p.line("G93")
		} else {
			p.line("G94 F%.1f", 1200/p.unit())
		}
	case "air":
		p.line("%s", pick(p.t, "air", "M7", "M8", "M9"))
	case "path":
		p.line("%s", pick(p.t, "path", "G61", "G64"))
	}
}

// drawProgram draws a job of a few figures.
func drawProgram(t *rapid.T) string {
	p := &pen{t: t, inch: pick(t, "inch", false, false, true), lower: rapid.Bool().Draw(t, "lower"), plain: rapid.Bool().Draw(t, "plain")}
	p.line("G17 G90 G94 %s", map[bool]string{false: "G21", true: "G20"}[p.inch])
	speaks := pick(t, "speaks", "both", "both", "both", "beam", "power", "none")
	if speaks == "both" || speaks == "beam" {
		p.line("M5")
	}
	p.line("G0 %s", p.xy(p.to()))
	p.line("F%.1f", 1200/p.unit())
	for n := rapid.IntRange(1, 5).Draw(t, "figures"); n > 0; n-- {
		if rapid.Bool().Draw(t, "retract") && !p.inverse {
			u := p.unit()
			z := pick(t, "pass", 0.0, 0, -0.4, -1.27)
			if p.rel {
				p.line("G0 Z%.5f", 2/u)
				p.line("G0 %s", p.xy(p.to()))
				p.line("Z-%.5f", 2/u)
			} else {
				p.line("G0 Z%.5f", 2/u)
				p.line("G0 %s", p.xy(p.to()))
				p.line("Z%.5f", z/u)
			}
		} else {
			p.line("G0 %s", p.xy(p.to()))
		}
		switch speaks {
		case "both":
			p.line("%s S%d", pick(t, "on", "M3", "M4"), rapid.IntRange(1, 999).Draw(t, "s"))
		case "beam":
			p.line("%s", pick(t, "on", "M3", "M4"))
		case "power":
			p.line("S%d", rapid.IntRange(1, 999).Draw(t, "s"))
		}
		p.line("G1")
		for k := rapid.IntRange(1, 8).Draw(t, "burns"); k > 0; k-- {
			switch pick(t, "block", "line", "line", "line", "line", "row", "arc", "dwell", "mode", "word") {
			case "line":
				p.line("G1 %s%s", p.xy(p.to()), p.feed(10))
			case "row":
				x, y := p.x, p.y
				for i := 1; i <= 30 && !p.inverse; i++ {
					s := ""
					if speaks == "both" {
						s = fmt.Sprintf(" S%d", pick(t, "pixel", 0, 100, 200, 300))
					}
					p.line("%s%s", p.xy(x+float64(i)*0.7, y), s)
				}
			case "arc":
				p.arc()
			case "dwell":
				p.line("G4 P0.2")
			case "mode":
				p.mode()
			case "word":
				p.line("%s", pick(t, "word", "(a note)", "M0", "T1"))
			}
		}
		if speaks == "both" && !p.inverse && pick(t, "runs out", false, true) {
			x, _, _ := strings.Cut(p.xy(p.x+2, p.y), " ")
			p.line("G1 %s%s S0", x, p.feed(2))
		}
		if speaks == "both" || speaks == "beam" {
			p.line("%s", pick(t, "off", "M5", "M5 S0", "M5"))
			if speaks == "beam" {
				p.line("M5")
			}
		}
		if speaks == "power" {
			p.line("S0")
		}
	}
	if p.rel && pick(t, "back", true, false) {
		p.line("G90")
		p.rel = false
	}
	if rapid.Bool().Draw(t, "home") {
		p.line("G0 %s", p.xy(0, 0))
	}
	if rapid.Bool().Draw(t, "stop") {
		p.line("M2")
	}
	return p.b.String()
}

func drawOptions(t *rapid.T) zone.Options {
	opt := zone.Options{
		Name: "job.gcode", Machine: machine.DefaultConfig(), Surface: drawSurface(t),
		ZPlusAway: pick(t, "plus", true, true, false), DecimalsMM: 3, DecimalsInch: 5, Comments: true, Marker: "sagitta x split y",
		Defocus: pick(t, "defocus", 0.0, 0, 0.3, -0.2),
		SetZ:    rapid.Bool().Draw(t, "set z"), Pause: pick(t, "pause", false, false, true),
		Lead: pick(t, "lead", 0.0, 0, 1, 5), Overlap: pick(t, "overlap", 0.0, 0, 0.5),
		ByHand: pick(t, "hand", false, false, true),
	}
	if opt.ByHand {
		opt.SetZ, opt.CrankMM = false, pick(t, "crank", 0.0, 0.05)
	}
	opt.Machine.RapidsFire = pick(t, "rapids", false, false, true)
	near, far := pick(t, "near", 0.15, 0.4, 1), pick(t, "far", 0.15, 0.4, 1)
	opt.Lenses = []zone.Lens{{Name: "short", Depth: focus.Depth{Near: near, Far: far}}}
	if rapid.Bool().Draw(t, "two") {
		opt.Lenses = append(opt.Lenses, zone.Lens{Name: "long", Depth: focus.Depth{Near: 2 * near, Far: 2 * far}})
	}
	return opt
}

const (
	// half is half a decimal, which the splitter is not told of where Z is
	// written (see focus.Writing).
	half = 0.0005
	// steep is a slope that no stock has, and splines between wild heights
	// do: rounded cut points may then be out of focus.
	steep = 1.5
)

func proveSet(t interface{ Fatalf(string, ...any) }, dir, text string, opt zone.Options) *verify.SetResult {
	f, err := os.Open(filepath.Join(dir, "set.json"))
	if err != nil {
		t.Fatalf("%v", err)
	}
	defer f.Close()
	set, err := verify.ReadSet(f, "set.json")
	if err != nil {
		t.Fatalf("%v", err)
	}
	v := verify.Options{Machine: opt.Machine, Surface: opt.Surface, Depth: opt.Lenses[0].Depth, DefocusMM: opt.Defocus,
		ZPlusAway: opt.ZPlusAway, DecimalsMM: 3, DecimalsInch: 5}
	if opt.ByHand {
		v.ZMoves = verify.ByHand
	}
	if opt.Within != nil {
		v.ZRateMMMin = opt.Within.Follow.ZRate * 60
	}
	res, err := verify.RunSet(set, func(name string) (io.ReadCloser, error) { return os.Open(filepath.Join(dir, name)) },
		func(name string) (focus.Depth, error) {
			for _, l := range opt.Lenses {
				if l.Name == name {
					d := l.Depth
					if !opt.ByHand {
						d = focus.Depth{Near: d.Near + half, Far: d.Far + half} // see focus.Writing
					}
					return d, nil
				}
			}
			return focus.Depth{}, errors.New("no such lens")
		}, strings.NewReader(text), "job.gcode", v)
	if err != nil {
		t.Fatalf("a program of the set cannot be read: %v", err)
	}
	return res
}

func complaints(r *verify.SetResult) string {
	var b strings.Builder
	for _, f := range r.Whole.Failures {
		fmt.Fprintf(&b, "%s\n", f)
	}
	for i, z := range r.Zones {
		for _, f := range z.Failures {
			fmt.Fprintf(&b, "zone %d: %s\n", i+1, f)
		}
	}
	return b.String()
}

func folder(t *testing.T) string {
	dir, err := os.MkdirTemp(t.TempDir(), "set")
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

// Drawn jobs over drawn surfaces under drawn options: whatever is split is
// proved by the other package, adds up, and is drawn at its length.
func TestSplitsAreProved(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text, opt := drawProgram(rt), drawOptions(rt)
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		var unmet *zone.UnmetError
		if errors.As(err, &unmet) && (unmet.NoBurn || strings.Contains(unmet.Failures[0].What, "more than 1000") ||
			strings.Contains(unmet.Failures[0].What, "leaves the surface")) { // an arc that was drawn too wide
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		err = p.Split(strings.NewReader(text), dir)
		if errors.As(err, &unmet) && opt.Surface.MaxSlope() > steep {
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		res := proveSet(rt, dir, text, opt)
		if !res.Holds() {
			for _, f := range programs(rt, dir) {
				rt.Logf("%s", f)
			}
			rt.Fatalf("does not hold:\n%s%s", complaints(res), text)
		}
		sum, burned := 0.0, 0.0
		for i := range p.Zones {
			sum += p.Zones[i].BurnLength
			burned += res.Zones[i].BurnLengthMM
		}
		if math.Abs(sum-res.BurnLengthMM) > 1e-6*(1+sum) || math.Abs(p.BurnLength-res.BurnLengthMM) > 1e-6*(1+sum) {
			rt.Fatalf("zones sum to %g, the job to %g, the plan says %g", sum, res.BurnLengthMM, p.BurnLength)
		}
		if opt.Overlap == 0 && math.Abs(burned-res.BurnLengthMM) > 0.002*float64(1+p.Cuts) {
			rt.Fatalf("programs burn %g, the job %g", burned, res.BurnLengthMM)
		}
		checkMap(rt, filepath.Join(dir, "zones.geojson"), res.BurnLengthMM, p)
	})
}

func programs(t interface{ Fatalf(string, ...any) }, dir string) []string {
	names, _ := filepath.Glob(filepath.Join(dir, "*.gcode"))
	var out []string
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatalf("%v", err)
		}
		out = append(out, filepath.Base(n)+"\n"+string(b))
	}
	return out
}

// checkMap reads the map with orb and with encoding/json alone: both give the
// length that the job burns, within 1e-6.
func checkMap(t interface{ Fatalf(string, ...any) }, name string, want float64, p *zone.Plan) {
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatalf("%v", err)
	}
	fc, err := geojson.UnmarshalFeatureCollection(text)
	if err != nil {
		t.Fatalf("orb: %v", err)
	}
	byOrb, zones := 0.0, 0
	for _, f := range fc.Features {
		switch g := f.Geometry.(type) {
		case orb.MultiLineString:
			zones++
			for _, l := range g {
				byOrb += planar.Length(l)
			}
		case orb.MultiPolygon:
			for _, poly := range g {
				for _, ring := range poly {
					if !ring.Closed() {
						t.Fatalf("a ring is open")
					}
				}
			}
		}
	}
	var plain struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(text, &plain); err != nil {
		t.Fatalf("json: %v", err)
	}
	byJSON := 0.0
	for _, f := range plain.Features {
		if f.Geometry.Type != "MultiLineString" {
			continue
		}
		var lines [][][2]float64
		if err := json.Unmarshal(f.Geometry.Coordinates, &lines); err != nil {
			t.Fatalf("json: %v", err)
		}
		for _, l := range lines {
			for i := range l[1:] {
				byJSON += math.Hypot(l[i+1][0]-l[i][0], l[i+1][1]-l[i][1])
			}
		}
	}
	if zones != len(p.Zones) || math.Abs(byOrb-want) > 1e-6*(1+want) || math.Abs(byJSON-want) > 1e-6*(1+want) {
		t.Fatalf("%d of %d zones, %.9g mm by orb, %.9g by json, want %.9g", zones, len(p.Zones), byOrb, byJSON, want)
	}
}

// A job that one setting serves is not changed by a byte.
func TestOneZoneIsTheOriginal(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text, opt := drawProgram(rt), drawOptions(rt)
		opt.SetZ, opt.Pause, opt.Lenses = false, false, []zone.Lens{{Name: "deep", Depth: focus.Depth{Near: 30, Far: 30}}}
		p, err := zone.Survey(strings.NewReader(text), opt)
		if err != nil {
			rt.Skip(err)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		if err := p.Split(strings.NewReader(text), dir); err != nil {
			rt.Fatalf("%v", err)
		}
		got, err := os.ReadFile(filepath.Join(dir, p.Zones[0].Program))
		if err != nil || len(p.Zones) != 1 || !bytes.Equal(got, []byte(text)) {
			rt.Fatalf("%d zones, %v:\n%s\nof\n%s", len(p.Zones), err, got, text)
		}
	})
}
