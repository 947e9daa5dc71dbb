package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// findings are how two results of a job compare.
type findings struct {
	classes []string
	notes   []string
	figures map[string][2]float64
}

// alike begins the classes that are no difference.
const alike = "= "

// worse is by which part a figure may be worse.
const worse = 0.02

func (f *findings) add(kind, class, format string, args ...any) {
	f.classes = append(f.classes, kind+": "+class)
	f.notes = append(f.notes, class+": "+fmt.Sprintf(format, args...))
}

// judge compares. Both results are proved by the newer build's verify, and
// those of follow by the older one's too, which measures the depth spent.
func judge(j *job, dir string, bins [2]string, done [2]*result) *findings {
	f := &findings{figures: map[string][2]float64{}}
	was, is := done[0], done[1]
	switch {
	case was.status != is.status:
		f.statuses(j, dir, bins, was, is)
		return f
	case is.status != 0 && !slices.Equal(was.places, is.places):
		f.add(j.kind, fmt.Sprintf("! other lines refused, status %d", is.status), "%s\ninstead of\n%s", is.said, was.said)
		return f
	case is.status != 0:
		f.classes = []string{fmt.Sprintf("%s%s refused alike, status %d", alike, j.kind, is.status)}
		return f
	}
	same := slices.Equal(was.texts, is.texts)
	if same {
		f.classes = []string{alike + j.kind + map[bool]string{true: " the same bytes", false: " the same bytes, those of the original"}[is.json.Changed && len(is.json.Figures.Zones) != 1]}
	}
	if j.kind == "split" {
		f.split(j, dir, bins, was, is, same)
	} else if !same {
		f.follow(j, dir, bins, was, is)
	}
	return f
}

// statuses tells what another status may come from.
func (f *findings) statuses(j *job, dir string, bins [2]string, was, is *result) {
	if was.status == 0 {
		if ok, _, said := j.holds(dir, bins[1], was); !ok {
			f.add(j.kind, fmt.Sprintf("status %d, and what the old one wrote does not hold", is.status), "%s\n%s", is.said, said)
			return
		}
	}
	if strings.Contains(is.said, "fault of the tool") {
		f.add(j.kind, "! a fault of the tool, and what the old one wrote holds", "%s", is.said)
		return
	}
	f.add(j.kind, fmt.Sprintf("! status %d instead of %d", is.status, was.status), "%s\ninstead of\n%s", is.said, was.said)
}

func (f *findings) follow(j *job, dir string, bins [2]string, was, is *result) {
	f.add(j.kind, "other bytes", "see the files")
	var spent, travel [2]float64
	for i, r := range []*result{was, is} {
		ok, v, said := j.holds(dir, bins[0], r)
		if ok {
			ok, _, said = j.holds(dir, bins[1], r)
		}
		if !ok {
			f.add(j.kind, [...]string{"the old one's does not hold", "! the new one's does not hold"}[i], "%s", said)
		}
		travel[i] = v.ZTravel
		if spent[i] = v.Defocus / j.far; v.Defocus < 0 {
			spent[i] = -v.Defocus / j.near
		}
	}
	figure := func(name string, a, b, least float64) {
		f.figures[j.kind+" "+name] = [2]float64{a, b}
		if b > a*(1+worse)+least {
			f.add(j.kind, "worse: "+name, "%g instead of %g", b, a)
		}
	}
	figure("Z travel", travel[0], travel[1], 0.01)
	figure("peak rate", was.json.Figures.ZPeak, is.json.Figures.ZPeak, 0.5)
	figure("points added", was.json.Figures.Points, is.json.Figures.Points, 0)
	figure("depth spent", spent[0], spent[1], 0.002)
}

func (f *findings) split(j *job, dir string, bins [2]string, was, is *result, same bool) {
	oldHolds, _, _ := j.holds(dir, bins[1], was)
	newHolds, _, said := j.holds(dir, bins[1], is)
	rehearsal := slices.Contains(j.args, "--rehearsal") // which some builds cannot verify
	if !newHolds && !rehearsal {
		f.add(j.kind, "! the new one's does not hold", "%s", said)
	}
	if same {
		return
	}
	f.add(j.kind, map[bool]string{true: "other bytes", false: "other bytes, and what the old one wrote does not hold"}[oldHolds || rehearsal], "see the files")
	for name, v := range map[string][2]float64{
		"zones": {float64(len(was.json.Figures.Zones)), float64(len(is.json.Figures.Zones))},
		"cuts":  {was.json.Figures.Cuts, is.json.Figures.Cuts}, "other changes": {was.json.Figures.Joints, is.json.Figures.Joints},
		"programs": {float64(len(was.texts)), float64(len(is.texts))},
	} {
		f.figures[j.kind+" "+name] = v
		if math.Abs(v[0]-v[1]) > 0 {
			f.add(j.kind, "other number of "+name, "%g instead of %g", v[1], v[0])
		}
	}
}
