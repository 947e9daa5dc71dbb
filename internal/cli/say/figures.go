package say

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strings"

	"sagitta/internal/focus"
	"sagitta/internal/job"
)

// Refused is the verdict of a job that could not be done, before its figures are
// filled in.
const Refused = "refused"

// Figures is the JSON of a run. A field's name carries its unit.
type Figures struct {
	Schema  int               `json:"schema"`
	Command string            `json:"command"`
	Version string            `json:"version"`
	Verdict string            `json:"verdict"`
	Changed bool              `json:"changed"`
	Inputs  map[string]string `json:"inputs"`
	Outputs map[string]string `json:"outputs,omitempty"`
	Options map[string]string `json:"options"`
	// SurfaceErrorMM is the standard uncertainty of the surface's heights, where they are
	// least sure, and SurfaceErrorFrom where that is from: file, fit, --surface-error or assumed.
	SurfaceErrorMM   float64  `json:"surface_error_mm"`
	SurfaceErrorFrom string   `json:"surface_error_from"`
	Figures          any      `json:"figures"`
	Fails            []string `json:"failures,omitempty"`
	Notes            []string `json:"notes,omitempty"`
	// Unchecked is what a check did not look at.
	Unchecked []string `json:"not_checked,omitempty"`
}

// NewFigures are the figures of a command that laid a program over a surface:
// the program's name and digest, and the options as they were given. They tell
// the effective ones.
func NewFigures(command string, j *job.Job, program, digest string, options map[string]string) *Figures {
	g := &Figures{Schema: 1, Command: command, Version: j.Version, Options: options,
		SurfaceErrorMM: j.Unsure.MM, SurfaceErrorFrom: string(j.Unsure.From),
		Inputs: map[string]string{"program": digest, "surface": "sha256:" + j.Placed.Surface().Source().Digest}}
	if j.Fixture != nil {
		g.Inputs["fixture"] = j.FixtureDigest
	}
	if j.Borne != nil {
		g.Inputs["readings"] = j.Borne.Digest
	}
	options["method"] = j.Reading()
	delete(options, "surface-error")
	if u := j.Unsure; u.From == job.FromOption || u.From == job.Assumed {
		options["surface-error"] = number(u.MM)
	}
	options["program"] = program
	if r := j.Machine.ZRateMMMin; r != nil {
		options["z-rate"] = number(*r)
	}
	options["rapid"] = number(j.Machine.RapidMMMin)
	return g
}

func number(v float64) string {
	b, _ := json.Marshal(math.Round(v*1e9) / 1e9)
	return string(b)
}

// check tells whether a check holds, and what fails.
func (g *Figures) check(failures []string) {
	g.Verdict, g.Fails = "holds", failures
	if len(failures) > 0 {
		g.Verdict = "fails"
	}
}

// JSON is the file.
func (g *Figures) JSON() ([]byte, error) {
	b, err := json.MarshalIndent(g, "", "  ")
	return append(b, '\n'), err
}

// figure is one figure under its name, whose end is its unit.
type figure struct {
	name  string
	value any
}

// figures are an object of JSON, in their order. Those whose name ends with ?
// are left out where they are zero.
type figures []figure

// MarshalJSON writes the object.
func (f figures) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	for _, x := range f {
		name, optional := strings.CutSuffix(x.name, "?")
		if optional && reflect.ValueOf(x.value).IsZero() {
			continue
		}
		value, err := json.Marshal(x.value)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, ",%q:%s", name, value)
	}
	return fmt.Appendf(nil, "{%s}", bytes.TrimPrefix(b.Bytes(), []byte(","))), nil
}

// headFigures tell whether the clearance of the head was part of the run, and
// how near the axis comes to the surface under the beam against best focus,
// minus nearer.
func headFigures(checked bool, nearest focus.Extreme) figures {
	return figures{
		{"head_clearance_checked", checked},
		{"nearest_axis_mm", nearest.MM},
		{"nearest_axis_x_mm", nearest.X},
		{"nearest_axis_y_mm", nearest.Y},
		{"nearest_axis_line", nearest.Line},
	}
}

// written are things as they write themselves.
func written[T interface{ String() string }](list []T) []string {
	var out []string
	for _, x := range list {
		out = append(out, x.String())
	}
	return out
}
