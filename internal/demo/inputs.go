package demo

import (
	"bytes"
	_ "embed"

	"sagitta/heightmaps"
	"sagitta/internal/record"
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
	depth, focal, setting, rate := [2]float64{-1.5, 1.5}, 38.1, 0.1, 600.0
	lens := &record.Lens{Name: "short", FocalLengthMM: &focal, DepthMM: &depth, TestedOn: "birch plywood, 3 mm"}
	bench := record.DefaultMachine()
	bench.ZRateMMMin, bench.FocusSettingMM = &rate, &setting
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
