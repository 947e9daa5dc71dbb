package say

import (
	"reflect"
	"strings"
	"testing"

	"sagitta/internal/advise"
	"sagitta/internal/fit"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/probe"
	"sagitta/internal/recheck"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/timing"
	"sagitta/internal/touch"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone"
)

// full puts something other than zero into all that can be set of a value.
func full(v reflect.Value, depth int) {
	if !v.CanSet() || depth == 0 {
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(1)
	case reflect.Float64:
		v.SetFloat(1.5)
	case reflect.String:
		v.SetString("text")
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		full(v.Elem(), depth-1)
	case reflect.Struct:
		for i := range v.NumField() {
			full(v.Field(i), depth-1)
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fallthrough
	case reflect.Array:
		for i := range v.Len() {
			full(v.Index(i), depth-1)
		}
	}
}

// Every place of every text can be filled, of runs that have everything to say and
// of those that have nothing.
func TestTextsCanBeFilled(t *testing.T) {
	for _, some := range []bool{true, false} {
		// fill makes what a report is of full, or leaves it empty.
		fill := func(x any) {
			if some {
				full(reflect.ValueOf(x).Elem(), 6)
			}
		}
		j := &job.Job{}
		fill(j)
		j.Placed = surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(x, y float64) float64 { return x / 10 })
		j.Mesh = setup.NewMesh(j.Placed)
		j.Options, j.Machine, j.Lenses = &job.Options{Datum: new([2]float64)}, record.DefaultMachine(), make([]job.Lens, 2)
		fill(j.Machine)
		fill(&j.Lenses)
		var (
			f     follow.Summary
			r     verify.Result
			s     set.Result
			plan  zone.Plan
			steps ladder.Ladder
			probe probe.Probing
			a     = Advice{Advice: &advise.Advice{Job: &advise.Metrics{}}}
		)
		for _, x := range []any{&f, &r, &s, &plan, &steps, &probe, &a} {
			fill(x)
		}
		s.Zones = nil // they are only made by a check
		a.With = j
		probe.X, probe.Y = make([]float64, 3), make([]float64, 3)
		probe.Places = append(probe.Places, [2]float64{})
		for i := range plan.Zones {
			plan.Zones[i].Lens = i
		}
		plan.Surface = j.Placed
		m := measuredFully(t, some)
		a.Verdict = advise.None
		if some {
			f.LinesPerS, a.Job.Degrees = 9, 20
			j.Machine.ZPlus, j.Config.StartXYKnown, j.Profiled = record.Toward, false, false
		}
		for _, seconds := range []float64{0, 1} {
			for name, say := range map[string]func(Voice){
				"follow": func(v Voice) {
					v.Follow(j, &f, "name", map[bool]*Timing{true: {Made: &timing.Times{ZBurns: 2, ZStep: 0.1, BurnMM: 3, SlowMM: 2, DarkMM: 1, SlowedShare: 0.4, SlowedLine: 9}, Original: &timing.Times{Seconds: 2}}}[some])
				},
				"verify": func(v Voice) { v.Verify(j, "name", &r, setup.Setting{}) },
				"set":    func(v Voice) { v.Set(j, "dir", &set.Set{}, &s, "job.gcode", []string{"--use 1 (not 0.5)"}) },
				"zones": func(v Voice) {
					v.tell("set", of{"Job": j, "Depths": "", "Failures": []string{}, "Zones": []*verify.Result{&r}, "More": 1, "Result": &s, "Name": "dir", "Count": 0, "What": "all", "Original": "-", "Instead": []string{}, "Listed": &set.Set{}})
				},
				"split":  func(v Voice) { v.Split(j, &plan, true, "dir", &job.Proof{Job: j, Zones: &set.Set{}, Result: &s}) },
				"ladder": func(v Voice) { v.Ladder(&steps, ladder.Readback{}, j.Machine, some, 0, 0, 0) },
				"probe": func(v Voice) {
					v.Probe(&Touching{Probing: &probe, Pitch: pitch, Depth: 1, Machine: j.Machine, Profiled: some, Head: &j.Head, ByHand: seconds == 0, FeelerMM: seconds, Seconds: seconds, Started: some})
				},
				"recheck": func(v Voice) { v.Recheck(j, nil, &probe, seconds, seconds, some) },
				"stop":    func(v Voice) { v.RecheckStop(j, 1, []string{"says"}, seconds) },
				"rechecked": func(v Voice) {
					v.Rechecked(j, &recheck.Question{}, &recheck.Answer{Again: &recheck.Read{}}, recheck.Allowance{From: "twice"}, "out", some)
				},
				"advise": func(v Voice) { v.Advise(&a) },
				"advice": func(v Voice) { v.Line("%s", a.Report()) },
				"surface": func(v Voice) {
					var next []fit.Next
					file := ""
					if some {
						next, file = make([]fit.Next, nextShown+1), "next"
					}
					v.Surface(m, next, file)
				},
			} {
				var b strings.Builder
				say(Voice{W: &b})
				if text := b.String(); text == "" || strings.Contains(text, "template:") || strings.ContainsAny(text, "<>") || strings.Contains(text, "%!") {
					t.Errorf("%s, full %v: %s", name, some, text)
				}
			}
		}
	}
}

var pitch probe.Pitch

// measuredFully is a surface of which there is as much to say as can be, or as little.
func measuredFully(t *testing.T, some bool) *fit.Measured {
	const log = "x,y,z\n0,0,0.01\n10,0,0\n20,0,0.02\n0,10,0\n10,10,0.11\n20,10,0\n0,20,0\n10,20,0\n20,20,0.3\n"
	reading, err := touch.Read(strings.NewReader(log), "log", touch.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := fit.Measure("log", reading, fit.MeasuredOptions{Method: "bilinear"})
	if err != nil {
		t.Fatal(err)
	}
	if some {
		full(reflect.ValueOf(&m.Parts[0].Drift).Elem(), 4)
		full(reflect.ValueOf(&m.Parts[0].Zero).Elem(), 4)
		full(reflect.ValueOf(&m.Repeats).Elem(), 4)
		full(reflect.ValueOf(&m.LeftOut).Elem(), 4)
		full(reflect.ValueOf(&m.Header).Elem(), 4)
		full(reflect.ValueOf(&m.Alignment).Elem(), 4)
		full(reflect.ValueOf(&m.Pairs).Elem(), 4)
		full(reflect.ValueOf(&m.Choice.Candidates).Elem(), 4)
		full(reflect.ValueOf(&m.Reading.Ignored).Elem(), 4)
		m.Written.Filled, m.Choice.ErrorKnown = make([][2]float64, 2), true
	}
	return m
}
