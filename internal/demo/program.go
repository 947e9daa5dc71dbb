package demo

import _ "embed"

//go:embed chart.gcode
var chart string

// Program gives the job, as a G-code program in mm with absolute coordinates
// but for one row of ornaments. Each call gives a slice of its own.
func Program() []byte { return []byte(chart) }
