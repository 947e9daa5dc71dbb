package demo

import _ "embed"

// The sheet, in mm, from its lower left corner.
const (
	Width  = 300.0
	Height = 200.0
	// Margin is how far every burn stays from the sheet's edge, in mm.
	Margin = 5.0
)

//go:embed chart.gcode
var chart string

// Program gives the job, as a G-code program in mm with absolute coordinates
// but for one row of ornaments. Each call gives a slice of its own.
func Program() []byte { return []byte(chart) }
