package job

import (
	"sagitta/internal/diag"
	"sagitta/internal/option"
)

// Options are the options that mean the same in every command which lays a
// program over a surface. Lengths are in mm, rates in mm/min, angles in degrees.
// Names of files and words that were not given are "", points nil.
type Options struct {
	Surface      string      `opt:"surface,s" file:"csv" is:"measured heights, a CSV <FILE>"`
	Lenses       []string    `opt:"lens,l" file:"toml" is:"lens record, a TOML <FILE>"`
	Depth        string      `opt:"depth" also:"sharp" is:"how many <MM> nearer and further the lens is sharp, in place of a lens record: 1.5, or both sides as -1.2,1.8; not a depth of cut (also --sharp)"`
	Machine      string      `opt:"machine,m" file:"toml" is:"machine profile, a TOML <FILE>"`
	Use          float64     `opt:"use" in:"(0,1]" wants:"a part of the depth, above 0 up to 1" is:"<PART> of the usable depth to spend while nothing forces more"`
	Defocus      float64     `opt:"defocus" in:"[-1000,1000]" wants:"mm from -1000 to 1000" is:"wanted defocus in <MM>, + further from the stock (default: usual_defocus_mm of the lens record, else 0)"`
	Datum        *[2]float64 `opt:"datum" is:"heights count from this point, <X,Y> of the program"`
	Shift        *[2]float64 `opt:"shift" is:"where the surface's origin lies, <X,Y> of the program"`
	Rotate       float64     `opt:"rotate" in:"(,)" wants:"a finite number" is:"<DEG> by which the surface is turned, counter-clockwise about its origin"`
	Method       string      `opt:"method" in:"bilinear|bicubic|auto|plane|cylinder|cone|sphere|smooth" is:"<NAME> of how heights are read between points: bilinear or bicubic, or fitted: auto, plane, cylinder, cone, sphere, smooth"`
	SurfaceError float64     `opt:"surface-error" in:"[0,1000]" wants:"mm from 0 to 1000" is:"standard uncertainty of the heights in <MM>, over the file's and over what is estimated; 0: they are exact"`
	Outside      string      `opt:"outside" in:"refuse|hold" is:"what a burn off the surface does, a <WORD>: refuse, or hold the edge's height"`
	Slow         string      `opt:"slow" in:"never|scaled|burns" is:"which burns may be slowed, a <WORD>: never, scaled (whose power follows speed) or burns (all)"`
	Slowest      float64     `opt:"slowest" in:"(0,1]" wants:"a part of the feed, above 0 up to 1" is:"least <PART> of the programmed feed that slowing leaves"`
	ZRate        float64     `opt:"z-rate" in:"(0,1e6]" wants:"a rate above 0 up to 1000000 mm/min" is:"greatest rate of the focus axis in <MM/MIN>, over the profile's"`
	Rapid        float64     `opt:"rapid" in:"(0,1e6]" wants:"a rate above 0 up to 1000000 mm/min" is:"rate of travels in <MM/MIN>, over the profile's"`
	Start        *[2]float64 `opt:"start" is:"where the head stands at the first block, <X,Y>"`
	StartZ       float64     `opt:"start-z" in:"[-10000,10000]" wants:"mm from -10000 to 10000" is:"Z at the first block, <MM>"`
	KeepOut      string      `opt:"keep-out" file:"csv" is:"boxes that stand above the stock, such as clamps, a CSV <FILE> of x0, y0, x1, y1, height over the datum"`
	Fixture      string      `opt:"fixture" file:"toml" is:"fixture record, a TOML <FILE>: where the stock lies and stands clear, and how long its measured heights count; other options go over what it says"`
	Readings     string      `opt:"readings" file:"measured" is:"a few touches of the stock as it lies now, a <FILE> that is judged as recheck does before anything is done"`
	Loaded       string      `opt:"loaded" is:"when the blank was loaded, a <TIME> such as 2026-11-05T14:30: its readings are to be of later"`
	At           string      `opt:"at" is:"judge how old fixture and readings are as of <TIME>, when the job is to run (default: now)"`
	Places       string      `opt:"places" file:"toml" is:"the places of a jig that the parts lie at (see sagitta place), for the sheet: a TOML <FILE> with [[place]] tables"`
	From         int         `opt:"from" in:"[0,250]" wants:"the number of a place" is:"number <N> of --places is the first that is made: to go on after a stop"`
	Freed        float64     `opt:"freed-height" in:"[0,1000]" wants:"mm from 0 to 1000" is:"how high over the stock a piece may stand up that a closed burn has cut free, in <MM>: it is kept clear of from then on"`
	KeepRamps    bool        `opt:"keep-ramps" is:"allow input whose Z already changes within a burn"`

	// Given reports whether an option was given by its name: without it the
	// lens record, the surface or the profile may know better.
	Given func(name string) bool
	// Note takes what was assumed on the way, a line each.
	Note func(line string)
	// Kept are surfaces of other jobs, nil where there is only this.
	Kept *Kept
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

// check looks at the options alone.
func (o *Options) check(want Want) error {
	switch {
	case o.Surface == "":
		return wrong("give the measured heights with -s SURFACE.csv", "no surface given")
	case want == MaybeLens && len(o.Lenses) == 0 && o.Depth == "":
	case (len(o.Lenses) == 0) == (o.Depth == ""):
		return wrong("give the lens with -l LENS.toml, or its depth with --depth 1.5", "one of --lens and --depth is needed")
	}
	if o.From > 0 && o.Places == "" {
		return wrong("name their file with --places JIG.toml", "--from is for the places of a jig")
	}
	return option.Check(o, o.Given)
}
