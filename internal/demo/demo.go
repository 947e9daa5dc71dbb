// Package demo is the job that the tool shows itself with.
//
// A workshop that makes lanterns burns the chart of a canal, both invented,
// into a plywood panel of 300 x 200 mm that has cupped in a damp store.
// chart.gcode is the job as three drawing programs would have written it: the
// frame under constant power, lettering and curves under power that follows
// speed, the mere as a raster picture, and a row of ornaments in relative
// moves. It was drawn once, by a program of its own. Lens record and machine
// profile are invented as well.
package demo

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"math"

	"sagitta/heightmaps"
	"sagitta/internal/bench"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/timing"
	"sagitta/internal/verify"
)

// File is a file of the demo, and what it is.
type File struct{ Name, What string }

// The files that the demo makes: what a workshop would bring, and what comes
// of it.
var (
	Surface  = File{"panel.csv", "the measured heights"}
	Chart    = File{"chart.gcode", "the program as drawn"}
	Lens     = File{"lens.toml", "the lens record"}
	Bench    = File{"bench.toml", "the machine profile"}
	Followed = File{"chart-followed.gcode", "the program that follows the surface"}
	Every    = File{"chart-every-mm.gcode", "for comparison, the height at every millimetre"}
	Figures  = File{"figures.json", "the figures of the check"}
	Files    = []File{Surface, Chart, Lens, Bench, Followed, Every, Figures}
)

// Inputs are what a workshop would bring, by the names of the files.
func Inputs() (map[string][]byte, error) {
	depth, focal, setting, rate, accel, zAccel := [2]float64{-1.5, 1.5}, 38.1, 0.1, 600.0, 500.0, 50.0
	lens := &record.Lens{Name: "short", FocalLengthMM: &focal, DepthMM: &depth, TestedOn: "birch plywood, 3 mm"}
	bench := record.DefaultMachine()
	bench.ZRateMMMin, bench.FocusSettingMM, bench.AccelMMS2, bench.ZAccelMMS2 = &rate, &setting, &accel, &zAccel
	var lensText, benchText bytes.Buffer
	err := record.Write(&lensText, lens)
	if err == nil {
		err = record.Write(&benchText, bench)
	}
	return map[string][]byte{Surface.Name: heightmaps.Panel(), Chart.Name: Program(),
		Lens.Name: lensText.Bytes(), Bench.Name: benchText.Bytes()}, err
}

//go:embed chart.gcode
var chart string

// Program gives the job, as a G-code program in mm with absolute coordinates
// but for one row of ornaments. Each call gives a slice of its own.
func Program() []byte { return []byte(chart) }

// everyMM is the spacing of the comparison, in mm.
const everyMM = 1.0

// Way is one way to run the job.
type Way struct {
	Name    string
	File    File
	Program []byte
	// Result is what the check of it found.
	Result *verify.Result
	// Times are those of it on the bench, whose inertia is known, and Original those of the job
	// as drawn.
	Times, Original *timing.Times
	// Figures are those of the pen that wrote it, nought as drawn.
	rewrite.Figures
}

// Compare runs the job as drawn, with the height at every millimetre, and
// followed, in this order, and has all checked: the last against the original.
func Compare(f follow.Options, v verify.Options) ([]*Way, *follow.Summary, error) {
	program := Program()
	every, figures, err := EveryMM(func(x, y float64) float64 {
		h, _ := f.Surface.At(x, y)
		return h
	}, everyMM)
	if err != nil {
		return nil, nil, err
	}
	var out bytes.Buffer
	sum, err := follow.Run(bytes.NewReader(program), &out, f)
	if err != nil {
		return nil, nil, err
	}
	ways := []*Way{
		{Name: "as drawn", File: Chart, Program: program},
		{Name: "every 1 mm", File: Every, Program: every, Figures: figures},
		{Name: "followed", File: Followed, Program: out.Bytes(), Figures: sum.Figures},
	}
	for _, w := range ways {
		var original io.Reader
		if w.File == Followed {
			original = bytes.NewReader(program)
		}
		if w.Result, err = verify.Run(bytes.NewReader(w.Program), w.File.Name, original, Chart.Name, v); err != nil {
			return nil, nil, err
		}
		if w.Times, w.Original, err = timing.Beside(bytes.NewReader(w.Program), bytes.NewReader(program), w.File.Name, Chart.Name, *timing.On(&v.Bench)); err != nil {
			return nil, nil, err
		}
	}
	return ways, sum, nil
}

const (
	// decimals of X, Y and Z in mm, as the chart has them.
	decimals = 3
	// roundoff is by which part of a step a length may exceed a whole number of
	// them and make no piece more.
	roundoff = 1e-9
)

// EveryMM gives the chart as it is followed without any thought: each burn is
// cut every step mm, or a little sooner so that its pieces are alike, and the
// focus axis goes to the height of the surface at the end of every move.
// height gives it in mm at a place in program XY in mm. Feeds stay as they
// are, and pieces of arcs are arcs.
//
// The error says where there is no height.
func EveryMM(height func(x, y float64) float64, step float64) (cut []byte, f rewrite.Figures, err error) {
	cfg := machine.DefaultConfig()
	cfg.FeedCountsZ = false
	opt := rewrite.Options{Bench: bench.Bench{Machine: cfg, ZPlusAway: true, DecimalsMM: decimals}}
	var out bytes.Buffer
	pen := rewrite.New(&out, &opt)
	source := stream.New(bytes.NewReader(Program()), stream.Options{Machine: cfg, Blocks: true})
	plan := rewrite.Target{}
	err = source.Each(func(it *stream.Item) error {
		defer source.Done(it)
		plan.Corners = plan.Corners[:0]
		if it.Moves() {
			n := 1.0
			if it.Move.Burn {
				n = max(math.Ceil(it.Move.Length/step-roundoff), 1)
			}
			for k := 1.0; k <= n; k++ {
				at := it.Move.XY(k / n)
				if plan.C = height(at[0], at[1]); math.IsNaN(plan.C) {
					return fmt.Errorf("%v: no height at X%.3f Y%.3f", it.Block.Place(it.Block.Words[0].Start), at[0], at[1])
				}
				if k < n {
					plan.Corners = append(plan.Corners, rewrite.Corner{S: k / n, C: plan.C})
				}
			}
		}
		pen.Pass(it, plan)
		return pen.Err()
	})
	if err == nil {
		err = pen.Finish()
	}
	return out.Bytes(), pen.Figures, err
}
