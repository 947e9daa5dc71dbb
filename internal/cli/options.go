package cli

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/job"
)

// options are those that every command shares which lays a program over a
// surface.
type options struct {
	job.Options
	summary string
	flags   *pflag.FlagSet
}

// bind declares them.
func (o *options) bind(f *pflag.FlagSet) {
	o.Options, o.flags = job.Defaults(), f
	o.Version, o.Given = Version, f.Changed
	f.StringVarP(&o.Surface, "surface", "s", "", "measured heights, a CSV `FILE`")
	f.StringArrayVarP(&o.Lenses, "lens", "l", nil, "lens record, a TOML `FILE`")
	bindDepth(f, &o.Depth)
	bindMachine(f, &o.Machine)
	f.Float64Var(&o.Use, "use", o.Use, "`PART` of the usable depth to spend while nothing forces more")
	f.Float64Var(&o.Defocus, "defocus", 0, "wanted defocus in `MM`, + further from the stock (default: usual_defocus_mm of the lens record, else 0)")
	f.Var(&point{&o.Datum}, "datum", "heights count from this point, `X,Y` of the program")
	bindPlacement(f, &o.Shift, &o.Rotate)
	f.StringVar(&o.Method, "method", "", "`NAME` of how heights are read between points: bilinear or bicubic, or fitted: auto, plane, cylinder, cone, sphere, smooth")
	f.StringVar(&o.Outside, "outside", o.Outside, "what a burn off the surface does, a `WORD`: refuse, or hold the edge's height")
	f.StringVar(&o.Slow, "slow", o.Slow, "which burns may be slowed, a `WORD`: never, scaled (whose power follows speed) or burns (all)")
	f.Float64Var(&o.Slowest, "slowest", o.Slowest, "least `PART` of the programmed feed that slowing leaves")
	f.Float64Var(&o.ZRate, "z-rate", 0, "greatest rate of the focus axis in `MM/MIN`, over the profile's")
	f.Float64Var(&o.Rapid, "rapid", 0, "rate of travels in `MM/MIN`, over the profile's")
	f.Var(&point{&o.Start}, "start", "where the head stands at the first block, `X,Y`")
	f.Float64Var(&o.StartZ, "start-z", 0, "Z at the first block, `MM`")
	bindKeepOut(f, &o.KeepOut)
	f.BoolVar(&o.KeepRamps, "keep-ramps", false, "allow input whose Z already changes within a burn")
	bindSummary(f, &o.summary)
}

// Options that more commands have.

func bindDepth(f *pflag.FlagSet, depth *string) {
	f.StringVar(depth, "depth", "", "`MM` of depth in place of a lens: 1.5, or nearer and further as -1.2,1.8")
}

func bindMachine(f *pflag.FlagSet, file *string) {
	f.StringVarP(file, "machine", "m", "", "machine profile, a TOML `FILE`")
}

func bindKeepOut(f *pflag.FlagSet, file *string) {
	f.StringVar(file, "keep-out", "", "boxes that stand above the stock, such as clamps, a CSV `FILE` of x0, y0, x1, y1, height over the datum")
}

func bindPlacement(f *pflag.FlagSet, shift **[2]float64, rotate *float64) {
	f.Var(&point{shift}, "shift", "where the surface's origin lies, `X,Y` of the program")
	f.Float64Var(rotate, "rotate", 0, "`DEG` by which the surface is turned, counter-clockwise about its origin")
}

func bindRehearsal(f *pflag.FlagSet, rehearsal *bool) {
	f.BoolVar(rehearsal, "rehearsal", false, "write the same motion with the beam off")
}

func bindSummary(f *pflag.FlagSet, file *string) {
	f.StringVar(file, "summary", "", "write the run's figures as JSON to `FILE`")
}

// checkPlot looks at the name of a picture.
func checkPlot(name string) error {
	if name != "" && plotFormat(name) != "svg" && plotFormat(name) != "png" {
		return usagef("", "--plot %s: wants a name that ends in .svg or .png", name)
	}
	return nil
}

// plotFormat is the format that a picture's name asks for.
func plotFormat(name string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(name), "."))
}

// point is a place, X,Y.
type point struct{ at **[2]float64 }

func (p *point) String() string {
	if p.at == nil || *p.at == nil {
		return ""
	}
	return fmt.Sprintf("%g,%g", (*p.at)[0], (*p.at)[1])
}

func (p *point) Type() string { return "string" }

func (p *point) Set(text string) error {
	v, err := numbers(text)
	if err != nil {
		return err
	}
	if len(v) != 2 {
		return fmt.Errorf("wants X,Y, as in 10,20")
	}
	*p.at = &[2]float64{v[0], v[1]}
	return nil
}

// numbers reads numbers between commas.
func numbers(text string) ([]float64, error) {
	var out []float64
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		v, err := strconv.ParseFloat(part, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(part, "xX_") {
			return nil, fmt.Errorf("%q is not a number", part)
		}
		out = append(out, v)
	}
	return out, nil
}
