package set

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
	split "sagitta/internal/zone"
)

// mutantsEach is how many mutants are made of a set that is drawn.
const mutantsEach = 6

// job is a set as it lies in a folder: programs by name, and the list.
type job struct {
	original string
	programs map[string][]string // by blocks, each a line
	list     map[string]any
	byHand   bool
	join     func([]string) string
	// rules are those about its burns, each by lines of the original.
	rules []verify.Rule
}

// lenses are those that there are, by the depth of each.
var lenses = map[string]float64{"a": 0.3, "b": 0.26, "deep": 5}

// drawJob draws a set: programs of their own that keep Z or write it, one that waits,
// or two that wait for the lens to be raised by hand; or what is split of such a job.
func drawJob(t *rapid.T) *job {
	d := drawSet(t)
	if rapid.IntRange(0, 2).Draw(t, "split") == 0 {
		if j := splitJob(t, d.text(d.original)); j != nil {
			return j
		}
	}
	j := &job{original: d.text(d.original), join: d.text, programs: map[string][]string{"low": d.zones[0], "high": d.zones[1]}}
	var list map[string]any
	if err := json.Unmarshal([]byte(d.list), &list); err != nil {
		t.Fatal(err)
	}
	j.list = list
	zones := list["zones"].([]any)
	for i, z := range zones {
		z.(map[string]any)["order"], z.(map[string]any)["digest"] = float64(i+1), "sha256:00"
	}
	kind := rapid.SampledFrom([]string{"programs", "paused", "by hand"}).Draw(t, "kind")
	if list["set_z"].(bool) {
		kind = "programs"
	}
	switch kind {
	case "paused": // open, wait, to the point, wait, high, to the point, wait, low, end
		const open = 3
		low, high := d.zones[0], d.zones[1]
		slices.Reverse(zones)
		one, two := zones[0].(map[string]any), zones[1].(map[string]any)
		one["order"], two["order"] = 1.0, 2.0
		const up = "G0 Z0"
		down := up
		if d.original[open+1] == "G0 Z-0.5" { // before the first burn, from whose Z the focus counts
			down = d.original[open+1]
		}
		both := slices.Concat(high[:open], []string{"M0", "G0 X75 Y0", down, "M0", up}, high[open:len(high)-2], []string{"G0 X25 Y0", down, "M0"})
		one["stop_line"], one["focus_stop_line"] = float64(open+1), float64(open+4)
		two["stop_line"], two["focus_stop_line"] = float64(len(both)), float64(len(both))
		both = slices.Concat(both, []string{up}, low[open:])
		j.programs = map[string][]string{"both": both}
		for _, z := range zones {
			z.(map[string]any)["program"] = "both"
		}
	case "by hand": // over stock that is 0.9 high
		j.byHand = true
		low := d.zones[0]
		at := len(low) - 2
		j.programs["low"] = slices.Concat(low[:at], []string{"M0", "G0 X90 Y1", "G0 X0 Y1", "M0"}, low[at:])
		zones[0].(map[string]any)["raised_lines"] = []any{[]any{float64(at + 1), float64(at + 4)}}
		zones[0].(map[string]any)["raised_mm"] = []any{0.36}
	}
	return j
}

// splitJob has a job split; nil where that cannot be.
func splitJob(t *rapid.T, original string) *job {
	dir, err := os.MkdirTemp("", "sagitta-*")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	opt := split.Options{
		Options: rewrite.Options{Name: "job.gcode", Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true},
		Surface: slope, Lenses: []split.Lens{{Name: "a", Depth: focus.Depth{Near: 0.29, Far: 0.29}}},
		SetZ: rapid.Bool().Draw(t, "sets Z"), Pause: rapid.Bool().Draw(t, "pause"), Lead: rapid.SampledFrom([]float64{0, 2}).Draw(t, "lead"),
	}
	if !opt.SetZ && rapid.Bool().Draw(t, "hand") {
		opt.ZMoves = bench.ByHand
	}
	rules := drawRules(t, &opt, strings.Count(original, "\n"))
	plan, err := split.Survey(strings.NewReader(original), opt)
	if err == nil {
		err = plan.Split(strings.NewReader(original), dir)
	}
	if err != nil {
		return nil
	}
	j := &job{original: original, rules: rules, programs: map[string][]string{}, byHand: opt.ZMoves == bench.ByHand,
		join: func(blocks []string) string { return strings.Join(blocks, "\n") }}
	read := func(name string) []byte {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	if err := json.Unmarshal(read("set.json"), &j.list); err != nil {
		t.Fatal(err)
	}
	for _, z := range j.list["zones"].([]any) {
		name := z.(map[string]any)["program"].(string)
		j.programs[name] = strings.Split(string(read(name)), "\n")
	}
	return j
}

// drawRules draws rules for a job of so many lines that is split, and gives them as they are
// checked: of depths that are a little greater.
func drawRules(t *rapid.T, opt *split.Options, lines int) (rules []verify.Rule) {
	kinds := &stream.Kinds{Of: []int{0}}
	for n := rapid.IntRange(0, 2).Draw(t, "rules"); n > 0; n-- {
		from := rapid.IntRange(1, lines).Draw(t, "from")
		depth := rapid.SampledFrom([]float64{0.2, 0.3, 0.6}).Draw(t, "rule depth")
		r := verify.Rule{Lines: [][2]int{{from, rapid.IntRange(from, lines).Draw(t, "to")}}, Depth: focus.Depth{Near: depth, Far: depth},
			DefocusMM: rapid.SampledFrom([]float64{0, 0.25, -0.5}).Draw(t, "rule defocus")}
		rules = append(rules, r)
		opt.Lenses[0].Kinds = append(opt.Lenses[0].Kinds, focus.Aim{Depth: focus.Depth{Near: depth - 0.01, Far: depth - 0.01}, Defocus: r.DefocusMM})
		kinds.Of = append(kinds.Of, len(rules))
	}
	if rules != nil {
		kinds.Rule = func(line, _ int, _, _ float64) int {
			return 1 + slices.IndexFunc(rules, func(r verify.Rule) bool { return r.Lines[0][0] <= line && line <= r.Lines[0][1] })
		}
		opt.Rules = kinds
	}
	return rules
}

// slope is what the jobs lie on.
var slope *surface.Placed

// names are those of the programs.
func (j *job) names() (names []string) {
	for name := range j.programs {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// clone is a copy to be spoiled.
func (j *job) clone() *job {
	c := *j
	c.programs = map[string][]string{}
	for name, p := range j.programs {
		c.programs[name] = slices.Clone(p)
	}
	text, _ := json.Marshal(j.list)
	c.list = nil
	_ = json.Unmarshal(text, &c.list)
	return &c
}

// inserted are blocks that do something.
var inserted = []string{"M0", "M1", "M2", "M30", "M3", "M4", "M4 S900", "M5", "M6", "M7", "M8", "M64 P1", "M106", "S900", "S0", "F300", "F6000",
	"G91", "G90", "G20", "G21", "G0 Z-1", "G0 Z0", "G0 Z5", "G0 X99 Y1", "G1 X99 F1000", "G1 Z-0.4", "G0 X20", "%", "G4 P1", "G0 X0 Y0", "M8\nG0 Y5\nM9",
	"T2", "$H", "G64 P1", "G61"}

// spoil does one drawn edit to a program of the set, and says which.
func (j *job) spoil(t *rapid.T) string {
	name := rapid.SampledFrom(j.names()).Draw(t, "program")
	p := j.programs[name]
	if len(p) == 0 {
		return "nothing to spoil"
	}
	i, k := rapid.IntRange(0, len(p)-1).Draw(t, "line"), rapid.IntRange(0, len(p)-1).Draw(t, "other")
	how := rapid.SampledFrom([]string{"drop", "swap", "next", "double", "move", "insert", "insert", "number", "number", "number", "sign", "letter", "code", "cut"}).Draw(t, "edit")
	said := fmt.Sprintf("%s line %d of %s (%s)", how, i+1, name, p[i])
	switch how {
	case "drop":
		p = slices.Delete(p, i, i+1)
	case "swap":
		p[i], p[k] = p[k], p[i]
	case "next":
		p[i], p[max(i-1, 0)] = p[max(i-1, 0)], p[i]
	case "double":
		p = slices.Insert(p, k, p[i])
	case "move":
		block := p[i]
		p = slices.Delete(p, i, i+1)
		p = slices.Insert(p, min(k, len(p)), block)
	case "insert":
		block := rapid.SampledFrom(inserted).Draw(t, "block")
		p = slices.Insert(p, i, block)
		said += " " + block
	case "cut":
		p = p[:max(i, 1)]
	default:
		p[i] = spoilWord(t, how, p[i])
		said += " to " + p[i]
	}
	j.programs[name] = p
	return said
}

// spoilWord changes a word of a block.
func spoilWord(t *rapid.T, how, block string) string {
	at := oracleWord.FindAllStringSubmatchIndex(block, -1)
	if len(at) == 0 {
		return block
	}
	w := rapid.SampledFrom(at).Draw(t, "word")
	letter, number := block[w[2]:w[3]], block[w[4]:w[5]]
	v, _ := strconv.ParseFloat(number, 64)
	switch how {
	case "number":
		v = rapid.SampledFrom([]float64{v + 1, v - 1, v + 0.02, v - 0.25, v * 10, v / 2, 0, 50}).Draw(t, "number")
	case "sign":
		v = -v
	case "letter":
		letter = rapid.SampledFrom([]string{"X", "Y", "Z", "S", "F", "I", "J", "G", "M", "P"}).Draw(t, "letter")
	case "code":
		codes := map[string][]float64{"G": {0, 1, 2, 3, 4, 20, 21, 90, 91}, "M": {0, 1, 2, 3, 4, 5, 6, 8, 30}}[letter]
		if codes != nil {
			v = rapid.SampledFrom(codes).Draw(t, "code")
		}
	}
	if letter == "G" || letter == "M" {
		v = math.Abs(math.Trunc(v))
	}
	return block[:w[0]] + letter + strconv.FormatFloat(v, 'f', -1, 64) + block[w[1]:]
}

// spoilList does one drawn edit to the list.
func (j *job) spoilList(t *rapid.T) string {
	zones := j.list["zones"].([]any)
	if len(zones) == 0 {
		return "nothing to spoil"
	}
	i := rapid.IntRange(0, len(zones)-1).Draw(t, "zone")
	z, o := zones[i].(map[string]any), zones[len(zones)-1-i].(map[string]any)
	key := rapid.SampledFrom([]string{"focus_mm", "focus_mm", "focus_mm", "order", "lens", "digest", "program", "raised_mm", "raised_lines", "stop_line", "focus_stop_line", "set_z", "zones"}).Draw(t, "field")
	number := func() float64 {
		v, _ := z[key].(float64)
		return rapid.SampledFrom([]float64{v + 1, v - 1, v + 0.01, v - 0.3, -v, v * 10, 0}).Draw(t, "value")
	}
	how := rapid.SampledFrom([]string{"change", "change", "swap", "drop"}).Draw(t, "list")
	said := fmt.Sprintf("%s %s of zone %d (%v)", how, key, i+1, z[key])
	switch {
	case key == "set_z":
		j.list[key] = !j.list[key].(bool)
	case key == "zones" && how == "drop":
		j.list[key] = slices.Delete(zones, i, i+1)
	case key == "zones" && how == "swap":
		slices.Reverse(zones)
	case key == "zones":
		j.list[key] = append(zones, z)
	case how == "drop":
		delete(z, key)
	case how == "swap":
		if z[key] != nil || o[key] != nil {
			z[key], o[key] = o[key], z[key]
		}
	case key == "lens":
		z[key] = rapid.SampledFrom([]string{"b", "deep", "c"}).Draw(t, "other lens")
	case key == "digest":
		z[key] = "sha256:01"
	case key == "program":
		z[key] = rapid.SampledFrom(append(j.names(), "none")).Draw(t, "other program")
	case key == "raised_mm" && z[key] != nil:
		z[key] = []any{rapid.SampledFrom([]float64{0, 0.3, 0.35, 0.5, -0.36}).Draw(t, "by")}
	case key == "raised_lines" && z[key] != nil:
		pair := z[key].([]any)[0].([]any)
		k := rapid.IntRange(0, 1).Draw(t, "end")
		pair[k] = pair[k].(float64) + float64(rapid.SampledFrom([]int{-2, -1, 1, 2}).Draw(t, "lines"))
	case (key == "stop_line" || key == "focus_stop_line") && z[key] != nil:
		z[key] = z[key].(float64) + float64(rapid.SampledFrom([]int{-5, -1, 1, 3}).Draw(t, "lines"))
	case key == "focus_mm" || key == "order":
		z[key] = number()
	}
	return fmt.Sprintf("%s: %v", said, z[key])
}

// oracle says what is wrong with the set by the oracle; sure is false where it does
// not know.
func (j *job) oracle() (wrong string, sure bool) {
	var zones []zoneText
	list := j.list["zones"].([]any)
	setsZ := j.list["set_z"].(bool)
	used := map[string]int{}
	for i, x := range list {
		z := x.(map[string]any)
		name, _ := z["program"].(string)
		p, there := j.programs[name]
		order, ordered := z["order"].(float64)
		f, has := z["focus_mm"].(float64)
		lens, _ := z["lens"].(string)
		depth, known := lenses[lens]
		stop, _ := z["stop_line"].(float64)
		focusStop, _ := z["focus_stop_line"].(float64)
		switch {
		case !there:
			return "no program " + name, true
		case !has:
			return "no focus", true
		case ordered && order != float64(i+1):
			return "no order", true
		case !known:
			return "no lens", true
		case used[name] > 0 && stop == 0:
			return "a program twice", true
		}
		used[name]++
		t := zoneText{text: j.join(p), to: math.MaxInt, focus: f, depth: depth, setsZ: setsZ, rules: rulesOf(j.rules), stop: int(stop), focusStop: int(focusStop), byHand: j.byHand}
		if k := len(zones) - 1; k >= 0 && zones[k].text == t.text {
			if zones[k].stop >= t.stop {
				return "stops out of order", true
			}
			zones[k].to, t.from = t.stop, t.stop
			zones[k].points = append(zones[k].points, pointOf(z))
		}
		if t.stop > 0 {
			t.points = append(t.points, pointOf(z))
		}
		lines, _ := z["raised_lines"].([]any)
		by, _ := z["raised_mm"].([]any)
		if j.byHand && len(lines) != len(by) {
			return "", false
		}
		for k := range lines {
			if pair := lines[k].([]any); j.byHand {
				t.raised = append(t.raised, [2]int{int(pair[0].(float64)), int(pair[1].(float64))})
				t.raisedMM = append(t.raisedMM, by[k].(float64))
			}
		}
		zones = append(zones, t)
	}
	return wrongSet(j.original, zones, 0.01)
}

// rulesOf are rules as the oracle knows them.
func rulesOf(rules []verify.Rule) (list []ruleText) {
	for _, r := range rules {
		list = append(list, ruleText{r.Lines[0][0], r.Lines[0][1], r.Depth.Near, r.DefocusMM})
	}
	return list
}

// pointOf is the focus point of a zone of the list, nowhere where it has none.
func pointOf(z map[string]any) [2]float64 {
	at, _ := z["focus_point_mm"].([]any)
	if len(at) != 2 {
		return [2]float64{}
	}
	x, _ := at[0].(float64)
	y, _ := at[1].(float64)
	return [2]float64{x, y}
}

// refused says why a set is refused, "" where it holds.
func (j *job) refused(t *testing.T) string {
	text, err := json.Marshal(j.list)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Read(strings.NewReader(string(text)), "set.json")
	if err != nil {
		return err.Error()
	}
	opt := verify.Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Surface: slope, Depth: focus.Depth{Near: 0.3, Far: 0.3}, Rules: j.rules}
	if j.byHand {
		opt.ZMoves = bench.ByHand
	}
	res, err := Run(s, func(name string) (io.ReadCloser, error) {
		p, ok := j.programs[name]
		if !ok {
			return nil, errors.New("no such program")
		}
		return io.NopCloser(strings.NewReader(j.join(p))), nil
	}, func(name string) (Lens, error) {
		d, ok := lenses[name]
		if !ok {
			return Lens{}, errors.New("no such lens")
		}
		return Lens{Depth: focus.Depth{Near: d, Far: d}}, nil
	}, strings.NewReader(j.original), "job.gcode", opt)
	if err != nil {
		return err.Error()
	}
	return failuresOf(res)
}

// Of mutants of sets each that the oracle calls wrong is refused, and a set that is
// whole holds for both. -rapid.checks=1000 makes some 4,000 wrong ones.
func TestEachWrongMutantIsRefused(t *testing.T) {
	slope = plane(t, 0.01)
	all, wrongOnes, ofSplit, ofRules := 0, 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		whole := drawJob(rt)
		if wrong, sure := whole.oracle(); wrong != "" || !sure || whole.refused(t) != "" {
			rt.Fatalf("a whole set is wrong: %q, sure %v, refused %q\n%s", wrong, sure, whole.refused(t), whole)
		}
		for range mutantsEach {
			m := whole.clone()
			var edits []string
			for range rapid.SampledFrom([]int{1, 1, 1, 2, 3}).Draw(rt, "edits") {
				if rapid.IntRange(0, 3).Draw(rt, "where") == 0 {
					edits = append(edits, m.spoilList(rt))
				} else {
					edits = append(edits, m.spoil(rt))
				}
			}
			wrong, sure := m.oracle()
			all++
			if !sure || wrong == "" {
				continue
			}
			wrongOnes++
			if m.list["original"] != nil {
				ofSplit++
			}
			if m.rules != nil {
				ofRules++
			}
			if m.refused(t) == "" {
				rt.Fatalf("it holds, and is wrong: %s\n%s\n%s", wrong, strings.Join(edits, "\n"), m)
			}
		}
	})
	t.Logf("%d of %d mutants are wrong, %d of sets that were split, %d of them with rules", wrongOnes, all, ofSplit, ofRules)
	if wrongOnes < all/3 || ofSplit < all/20 || ofRules < all/40 {
		t.Errorf("only %d of %d mutants are wrong, %d of sets that were split, %d of them with rules", wrongOnes, all, ofSplit, ofRules)
	}
}

func (j *job) String() string {
	list, _ := json.MarshalIndent(j.list, "", " ")
	text := fmt.Sprintf("%s\noriginal\n%s\n", list, j.original)
	for name, p := range j.programs {
		text += name + "\n"
		for i, block := range p {
			text += fmt.Sprintf("%3d %s\n", i+1, block)
		}
	}
	return text
}
