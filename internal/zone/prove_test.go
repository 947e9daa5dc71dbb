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
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/motion"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone"
	"sagitta/internal/zone/sheet"
)

// size is the side of the square that drawn programs stay in, in mm.
const size = 60.0

func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// gaps are the constructs that programs are drawn without because split does
// not keep to all of them yet. There is no other such list.
var gaps = []drawn.Construct{}

// drawJob draws a program, and how it is to be split over a sheet whose slopes
// are those of stock.
func drawJob(t *rapid.T, without ...drawn.Construct) (job *drawn.Program, opt zone.Options) {
	opt = drawOptions(t)
	without = append(without, gaps...)
	job = drawn.Draw(t, drawn.Options{Side: size, Without: without})
	opt.Numbered = job.Numbered || rapid.Bool().Draw(t, "numbered")
	rapids, straight := opt.Machine.RapidsFire, opt.Machine.RapidsStraight
	opt.Machine = job.Config()
	opt.Machine.RapidsFire, opt.Machine.RapidsStraight = rapids, straight
	return job, opt
}

func drawOptions(t *rapid.T) zone.Options {
	opt := zone.Options{
		Options: rewrite.Options{Name: "job.gcode", Bench: bench.Bench{ZPlusAway: pick(t, "plus", true, true, false), DecimalsMM: 3, DecimalsInch: 5},
			Comments: true, Marker: "sagitta x split y"},
		Surface: surfacetest.Draw(t, size, []float64{5, 11, 20, 33}, []float64{0, 0.2, 0.6, 1.2}).Placed(t),
		Defocus: pick(t, "defocus", 0.0, 0, 0.3, -0.2),
		SetZ:    rapid.Bool().Draw(t, "set z"), Pause: pick(t, "pause", false, false, true),
		Lead: pick(t, "lead", 0.0, 0, 1, 5), Overlap: pick(t, "overlap", 0.0, 0, 0.5),
	}
	opt.Original = pick(t, "original", false, false, true)
	opt.Accel, opt.StopsAtBeam = pick(t, "accel", 0.0, 20, 500), rapid.Bool().Draw(t, "stops at beam")
	if a := opt.Accel; a > 0 {
		opt.Inertia = &motion.Limits{Accel: motion.Vector{a, a, a / 10}, CornerMM: 0.01}
	}
	opt.LeadSaid, opt.OverlapSaid = rapid.Bool().Draw(t, "lead said"), rapid.Bool().Draw(t, "overlap said")
	if !opt.Original && pick(t, "rules", false, true) {
		opt.Cuts = func(line, _ int, _, _ float64) bool { return line%7 > 3 }
	}
	if pick(t, "hand", false, false, true) {
		opt.ZMoves = bench.ByHand
		opt.SetZ, opt.Turn.DivisionMM = false, pick(t, "crank", 0.0, 0.05)
	}
	if pick(t, "round", false, false, false, false, true) {
		opt.Surface = surfacetest.Round(t, size)
	}
	opt.Machine.RapidsFire = pick(t, "rapids", false, false, true)
	opt.Machine.RapidsStraight = opt.Machine.RapidsFire || pick(t, "straight", true, true, false)
	near, far := pick(t, "near", 0.15, 0.4, 1), pick(t, "far", 0.15, 0.4, 1)
	opt.Lenses = []zone.Lens{{Name: "short", Depth: focus.Depth{Near: near, Far: far}, Spot: pick(t, "spot", 0, 0.2, 0.9)}}
	if rapid.Bool().Draw(t, "two") {
		opt.Lenses = append(opt.Lenses, zone.Lens{Name: "long", Depth: focus.Depth{Near: 2 * near, Far: 2 * far}})
	}
	if pick(t, "head", false, false, true) {
		drawHead(t, &opt)
	}
	return opt
}

// ruled are rules that were drawn, as they are checked, by lens.
var ruled = map[*stream.Kinds]map[string][]verify.Rule{}

// drawRules draws rules by lines, of which some ask of each lens for a depth of its own.
func drawRules(t *rapid.T, opt *zone.Options) {
	kinds, rules := &stream.Kinds{Of: []int{0}}, map[string][]verify.Rule{}
	var lines [][2]int
	for n := rapid.IntRange(1, 2).Draw(t, "rules"); n > 0; n-- {
		from := rapid.IntRange(1, 50).Draw(t, "from")
		lines = append(lines, [2]int{from, from + rapid.IntRange(0, 40).Draw(t, "lines")})
		depth := focus.Depth{Near: pick(t, "rule near", 0.2, 0.5, 1.5), Far: pick(t, "rule far", 0.2, 0.5, 1.5)}
		defocus, of := pick(t, "rule defocus", 0, 0.3, -0.4, -1.5), pick(t, "of the lens", 0, 0, 0.7)
		for i := range opt.Lenses {
			l := &opt.Lenses[i]
			d := depth
			if of > 0 {
				d = focus.Depth{Near: of * l.Depth.Near, Far: of * l.Depth.Far}
			}
			l.Kinds = append(l.Kinds, focus.Aim{Depth: d, Use: 0.5, Defocus: defocus})
			if opt.ZMoves != bench.ByHand {
				d.Near, d.Far = d.Near+half, d.Far+half // see focus.Writing
			}
			rules[l.Name] = append(rules[l.Name], verify.Rule{Lines: lines[len(lines)-1:], Depth: d, DefocusMM: defocus})
		}
		kinds.Of = append(kinds.Of, len(lines))
	}
	kinds.Rule = func(line, _ int, _, _ float64) int {
		return 1 + slices.IndexFunc(lines, func(r [2]int) bool { return r[0] <= line && line <= r[1] })
	}
	opt.Rules, ruled[kinds] = kinds, rules
}

// drawHead draws a head that the stock is near to, and boxes about it, low enough
// for some programs to come by; the standoff of one lens may be missing.
func drawHead(t *rapid.T, opt *zone.Options) {
	h := bench.Head{Radius: pick(t, "radius", 0.3, 4, 12), Gap: pick(t, "gap", 0, 1.5)}
	if rapid.Bool().Draw(t, "wider above") {
		h.Above = []bench.Disk{{Radius: h.Radius + 3, Up: 0.5}, {Radius: h.Radius + 20, Up: pick(t, "up", 1, 2.5, 8)}}
	}
	for n := rapid.IntRange(0, 3).Draw(t, "boxes"); n > 0; n-- {
		x, y := rapid.Float64Range(-10, size).Draw(t, "x0"), rapid.Float64Range(-10, size).Draw(t, "y0")
		h.Boxes = append(h.Boxes, surface.Box{X0: x, Y0: y, X1: x + pick(t, "wide", 0.001, 1, 15), Y1: y + pick(t, "deep", 0.001, 1, 15),
			Height: pick(t, "tall", -1, 0.5, 1, 2, 4, 9)})
	}
	opt.Head = &h
	for i := range opt.Lenses {
		if i == 0 || rapid.Bool().Draw(t, "known") {
			standoff := pick(t, "standoff", 1.5, 2.5, 6)
			opt.Lenses[i].Standoff = &standoff
		}
	}
}

const (
	// half is half a decimal, which the splitter is not told of where Z is
	// written (see focus.Writing).
	half = 0.0005
	// steep is a slope that no stock has, and splines between wild heights
	// do: rounded cut points may then be out of focus.
	steep = 1.5
)

func proveSet(t interface{ Fatalf(string, ...any) }, dir, text string, opt zone.Options) *set.Result {
	f, err := os.Open(filepath.Join(dir, "set.json"))
	if err != nil {
		t.Fatalf("%v", err)
	}
	defer f.Close()
	zones, err := set.Read(f, "set.json")
	if err != nil {
		t.Fatalf("%v", err)
	}
	v := verify.Options{Bench: bench.Bench{Reach: opt.Reach, Machine: opt.Machine, ZPlusAway: opt.ZPlusAway, DecimalsMM: 3, DecimalsInch: 5, Harmless: opt.Harmless, Inertia: opt.Inertia, StopsAtBeam: opt.StopsAtBeam}, Surface: opt.Surface, Depth: opt.Lenses[0].Depth, DefocusMM: opt.Defocus}
	if opt.ZMoves == bench.ByHand {
		v.ZMoves = bench.ByHand
	}
	if opt.Within != nil {
		v.ZRate, v.Slow, v.Slowest = opt.Within.Follow.ZRate, opt.Within.Follow.Slow, opt.Within.Follow.Slowest
	}
	res, err := set.Run(zones, func(name string) (io.ReadCloser, error) { return os.Open(filepath.Join(dir, name)) },
		func(name string) (set.Lens, error) {
			for _, l := range opt.Lenses {
				if l.Name == name {
					d := l.Depth
					if opt.ZMoves != bench.ByHand {
						d = focus.Depth{Near: d.Near + half, Far: d.Far + half} // see focus.Writing
					}
					return set.Lens{Depth: d, Less: lessOf(&opt), Head: headOf(&opt, &l), Rules: ruled[opt.Rules][name]}, nil
				}
			}
			return set.Lens{}, errors.New("no such lens")
		}, strings.NewReader(text), "job.gcode", v)
	if err != nil {
		t.Fatalf("a program of the set cannot be read: %v\n%s\nof\n%s", err, strings.Join(programs(t, dir), "\n"), text)
	}
	if opt.Inertia != nil {
		sameTimes(t, dir, res)
	}
	return res
}

// sameTimes wants the times of the zones' programs in their list to be those of the
// check's own clock.
func sameTimes(t interface{ Fatalf(string, ...any) }, dir string, res *set.Result) {
	text, err := os.ReadFile(filepath.Join(dir, "set.json"))
	if err != nil {
		t.Fatalf("%v", err)
	}
	var list struct{ Zones []struct{ Seconds float64 } }
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatalf("%v", err)
	}
	for i, z := range list.Zones {
		if found := res.Zones[i].Seconds; math.Abs(z.Seconds-found) > 0.051+0.01*found {
			t.Fatalf("zone %d is said to take %v s, and takes %v\n%s", i+1, z.Seconds, found, strings.Join(programs(t, dir), "\n"))
		}
	}
}

func complaints(r *set.Result) string {
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

// enough drawn jobs are to meet what is rare.
const enough = 90

// Drawn jobs over drawn surfaces under drawn options: whatever is split is
// proved by the other package, adds up, and is drawn at its length.
func TestSplitsAreProved(t *testing.T) {
	jobs, split, refused := 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		jobs++
		job, opt := drawJob(rt)
		if pick(rt, "ruled", false, true) {
			drawRules(rt, &opt)
		}
		opt.Harmless = pick(rt, "harmless", nil, []int{117})
		if pick(rt, "bed", false, false, true) {
			opt.Reach.X, opt.Reach.Y = &[2]float64{0, size}, &[2]float64{pick(rt, "least", -30.0, -1, 0), size}
		}
		text := job.Text
		lit := pick(rt, "left lit", false, false, true)
		if lit {
			text = drawn.LeaveLit(rt, text, opt.Machine)
		}
		dir := folder(t)
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), opt)
		if without, wrong := mayDivide(text, p, err, opt); wrong != "" {
			rt.Fatalf("%s: %v\n%s", wrong, err, text)
		} else if without != text {
			refused++
			if text = without; text == "" {
				return
			}
			p, err = zone.Survey(strings.NewReader(text), opt)
			if err == nil && len(p.Zones) == 1 && !opt.Pause {
				rt.Fatalf("one program would do\n%s", text)
			}
		}
		var unmet *zone.UnmetError
		if errors.As(err, &unmet) && (unmet.NoBurn || strings.Contains(unmet.Failures[0].What, "more than 1000") ||
			strings.Contains(unmet.Failures[0].What, "the reach of the axes") ||
			strings.Contains(unmet.Failures[0].What, "burns and ends") || // with stops
			strings.Contains(unmet.Failures[0].What, "no place to set the focus") ||
			strings.Contains(unmet.Failures[0].What, "leaves the surface")) { // an arc that was drawn too wide
			rt.Skip(err)
		}
		if err != nil && lit { // where rapids fire, or the way is not known
			rt.Skip(err)
		}
		if err != nil {
			rt.Fatalf("%v\n%s", err, text)
		}
		err = p.Split(strings.NewReader(text), dir)
		if between := new(zone.BetweenError); errors.As(err, &between) { // a way past the end of a program is not clear
			if list, ends, _ := linesBetween(text, opt.Machine, opt.Harmless); !ends || !slices.Contains(list, diag.As(err).Place.Line) {
				rt.Fatalf("%v\n%s", err, text)
			}
			rt.Skip(err)
		}
		if errors.As(err, &unmet) && (mute(job, err) || opt.Surface.MaxSlope() > steep ||
			strings.Contains(unmet.Failures[0].What, "no place to set the focus") || strings.Contains(unmet.Failures[0].What, "the head cannot ")) {
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
		if p.Overlap == 0 && math.Abs(burned-res.BurnLengthMM) > 0.002*float64(1+p.Cuts) {
			rt.Fatalf("programs burn %g, the job %g", burned, res.BurnLengthMM)
		}
		checkMap(rt, filepath.Join(dir, "zones.geojson"), res.BurnLengthMM, p)
		files := len(p.Zones)
		if opt.Pause {
			files = 1
		}
		list, err := os.ReadDir(dir)
		list = slices.DeleteFunc(list, func(e os.DirEntry) bool { return sheet.IsPage(e.Name()) })
		if err != nil || len(list) != files+4 { // and sheet, lists and the other map
			rt.Fatalf("%v: %v", list, err)
		}
		if len(p.Zones) > 1 {
			split++
		}
	})
	t.Logf("%d jobs divided, %d refused as they stood", split, refused)
	if jobs >= enough && (split < 8 || refused < 2) {
		t.Errorf("only %d jobs divided, %d refused as they stood", split, refused)
	}
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

// headOf is the head of a lens as the other package has it.
func headOf(opt *zone.Options, l *zone.Lens) *bench.Head {
	if opt.Head == nil || l.Standoff == nil {
		return nil
	}
	h := *opt.Head
	h.Standoff = *l.Standoff
	return &h
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

// A job that one setting serves is not changed by a byte, but that the beam is
// put off at its end where its word was not.
func TestOneZoneIsTheOriginal(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		job, opt := drawJob(rt)
		text := job.Text
		opt.SetZ, opt.Pause, opt.Lenses = false, false, []zone.Lens{{Name: "deep", Depth: focus.Depth{Near: 30, Far: 30}}}
		if low, high, _, _ := opt.Surface.Range(); high-low > 40 {
			rt.Skip("splines between wild heights")
		}
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
		if err != nil || len(p.Zones) != 1 {
			rt.Fatalf("%d zones, %v", len(p.Zones), err)
		}
		list, err := drawn.Events(text, opt.Machine)
		if err != nil {
			rt.Fatal(err)
		}
		last := list[len(list)-1]
		if bytes.Equal(got, []byte(text)) && (last.Off || last.Burns) {
			return
		}
		if !slices.ContainsFunc(list, func(e drawn.Event) bool { return e.Kind >= drawn.Ended && !e.Off }) {
			rt.Fatalf("changed:\n%s\nof\n%s", got, text)
		}
		// A line that is put in takes a number, and those behind it the next ones.
		numbers := regexp.MustCompile(`(?mi)^N *\d+ *|\*\d+`)
		want := strings.Fields(numbers.ReplaceAllString(text, ""))
		off := regexp.MustCompile(fmt.Sprintf("^[Mm]0*%d$", opt.Machine.BeamOff[0]))
		rest := strings.Replace(string(got), opt.Marker, "", 1)
		have := strings.Fields(numbers.ReplaceAllString(regexp.MustCompile(`(?m)^(\(\)|; *)\r?\n`).ReplaceAllString(rest, ""), ""))
		i := 0
		for i < len(want) && i < len(have) && want[i] == have[i] {
			i++
		}
		if i >= len(have) || !off.MatchString(have[i]) || !slices.Equal(slices.Delete(have, i, i+1), want) {
			rt.Fatalf("changed by more than %s:\n%s\nof\n%s", off, got, text)
		}
	})
}
