package job

import (
	"math"

	"sagitta/internal/diag"
)

// Options are the options that mean the same in every command which lays a
// program over a surface, under the names that they have there. Lengths are in
// mm, rates in mm/min, angles in degrees. Names of files and words that were
// not given are "", points nil.
type Options struct {
	Surface, Depth, Machine, KeepOut string
	Lenses                           []string
	Use, Defocus                     float64
	Datum, Shift, Start              *[2]float64
	Rotate, StartZ                   float64
	Method, Outside, Slow            string
	Slowest, ZRate, Rapid            float64
	KeepRamps                        bool

	// Given reports whether an option was given by its name: without it the
	// lens record, the surface or the profile may know better.
	Given func(name string) bool
	// Note takes what was assumed on the way, a line each.
	Note func(line string)
	// Version is that of the tool, for the marker.
	Version string
}

// Defaults are the settings of an empty command line.
func Defaults() Options {
	return Options{Use: 0.5, Outside: "refuse", Slow: "scaled", Slowest: 0.5,
		Given: func(string) bool { return false }, Note: func(string) {}}
}

func wrong(hint, format string, args ...any) error {
	return diag.Errorf(diag.Setting, hint, format, args...)
}

// check looks at the settings alone.
func (o *Options) check() error {
	switch {
	case o.Surface == "":
		return wrong("give the measured heights with -s SURFACE.csv", "no surface given")
	case (len(o.Lenses) == 0) == (o.Depth == ""):
		return wrong("give the lens with -l LENS.toml, or its depth with --depth 1.5", "one of --lens and --depth is needed")
	case !(o.Use > 0 && o.Use <= 1):
		return wrong("", "--use %g: wants a part of the depth, above 0 up to 1", o.Use)
	case !(o.Slowest > 0 && o.Slowest <= 1):
		return wrong("", "--slowest %g: wants a part of the feed, above 0 up to 1", o.Slowest)
	case o.Outside != "refuse" && o.Outside != "hold":
		return wrong("", "--outside %s: wants refuse or hold", o.Outside)
	case o.Slow != "never" && o.Slow != "scaled" && o.Slow != "burns":
		return wrong("", "--slow %s: wants never, scaled or burns", o.Slow)
	}
	for name, v := range map[string]float64{"defocus": o.Defocus, "rotate": o.Rotate, "start-z": o.StartZ} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return wrong("", "--%s %g: wants a finite number", name, v)
		}
	}
	for name, v := range map[string]float64{"z-rate": o.ZRate, "rapid": o.Rapid} {
		if o.Given(name) && !(v > 0 && !math.IsInf(v, 0)) {
			return wrong("", "--%s %g: wants a rate above 0 in mm/min", name, v)
		}
	}
	return nil
}
