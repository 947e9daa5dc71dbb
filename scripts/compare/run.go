package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
)

// result is what a build made of a job.
type result struct {
	status int
	said   string
	places []string // lines that it complains of
	texts  []string // of the programs it wrote, in order
	out    string   // where they are
	json   struct {
		Changed bool `json:"changed"`
		Figures struct {
			ZPeak  float64 `json:"z_peak_rate_mm_min"`
			Points float64 `json:"points_added"`
			Zones  []any   `json:"zones"`
			Cuts   float64 `json:"cuts"`
			Joints float64 `json:"joint_changes"`
		} `json:"figures"`
	}
}

var place = regexp.MustCompile(`\bjob\.gcode:\d+(?::\d+)?:|\bline \d+\b`)

// do has the k-th build do the job.
func (j *job) do(dir, bin string, k int) (*result, error) {
	r := &result{out: fmt.Sprintf("%s-%s", j.kind, [...]string{"old", "new"}[k])}
	summary := r.out + ".json"
	if j.kind == "follow" {
		r.out += ".gcode"
	}
	args := append([]string{j.kind, "job.gcode"}, j.args...)
	var err error
	if r.status, r.said, err = call(dir, bin, append(args, "-o", r.out, "--summary", summary)...); err != nil {
		return nil, err
	}
	if err := os.WriteFile(filepath.Join(dir, r.out+".said"), []byte(r.said), 0o666); err != nil {
		return nil, err
	}
	if r.status != 0 {
		r.places = place.FindAllString(r.said, -1)
		slices.Sort(r.places)
		r.places = slices.Compact(r.places)
		return r, nil
	}
	text, err := os.ReadFile(filepath.Join(dir, summary))
	if err == nil {
		err = json.Unmarshal(text, &r.json)
	}
	if err != nil {
		return nil, err
	}
	names := []string{filepath.Join(dir, r.out)}
	if j.kind == "split" {
		if names, err = filepath.Glob(filepath.Join(dir, r.out, "job-*")); err != nil {
			return nil, err
		}
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		r.texts = append(r.texts, string(text))
	}
	return r, nil
}

// proof is what verify says of a single program.
type proof struct {
	Defocus float64 `json:"greatest_defocus_mm"`
	ZTravel float64 `json:"z_travel_mm"`
}

// holds has a build verify what was made.
func (j *job) holds(dir, bin string, r *result) (holds bool, f proof, said string) {
	args := append([]string{"verify", r.out, "--against", "job.gcode"}, j.check...)
	status, said, err := call(dir, bin, append(args, "--summary", "verify.json")...)
	if err != nil {
		return false, f, err.Error()
	}
	var v struct {
		Figures proof `json:"figures"`
	}
	if text, err := os.ReadFile(filepath.Join(dir, "verify.json")); err == nil {
		_ = json.Unmarshal(text, &v)
	}
	return status == 0, v.Figures, said
}

func call(dir, bin string, args ...string) (status int, said string, err error) {
	c := exec.Command(bin, args...)
	c.Dir = dir
	var b bytes.Buffer
	c.Stdout, c.Stderr = &b, &b
	err = c.Run()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return exit.ExitCode(), b.String(), nil
	}
	return 0, b.String(), err
}
