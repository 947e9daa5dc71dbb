package set

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
)

// Set is a set of zones: the programs that a job was divided into.
type Set struct {
	Schema int `json:"schema"`
	// Original is the file that it was made from, its name alone.
	Original string `json:"original"`
	// SetZ tells that the programs write their focus into Z; else they keep
	// the original's, and each zone's focus is set at the bench.
	SetZ bool `json:"set_z"`
	// Followed tells that the surface is followed within zones: moves are cut
	// where zones end, and again where Z turns.
	Followed bool `json:"followed"`
	// Paused tells that one program serves all, and waits at each focus point.
	Paused bool `json:"paused"`
	// Rehearsal tells that the beam is off throughout.
	Rehearsal bool `json:"rehearsal"`
	// Order says what order the burns keep: that of the original within each zone, or
	// only where they touch, over all zones, which "" stands for as well.
	Order string `json:"order"`
	// OverlapMM is how far burns may go on over a seam.
	OverlapMM float64 `json:"overlap_mm"`
	// StartMM is where the head stands when a program begins, in program XY; where it
	// is missing that is where the focus was set.
	StartMM *[2]float64 `json:"start_mm"`
	Zones   []Zone      `json:"zones"`
}

// The orders that the burns of a set may keep.
const (
	Best    = "best"
	InOrder = "original"
)

// Zone is one zone of a set.
type Zone struct {
	// Program is its program's file, in the set's folder.
	Program string `json:"program"`
	// Digest is that of the file as it was made, "" where that is not said.
	Digest string `json:"digest"`
	// Lens is its lens's name.
	Lens string `json:"lens"`
	// Order is its place in the order of burning, from 1, which is that of the
	// list; nil where it is not said.
	Order *int `json:"order"`
	// FocusMM is where its focus is set, in mm over the datum, or with SetZ what
	// its program adds to the original's Z; nil is refused.
	FocusMM *float64 `json:"focus_mm"`
	// FocusPointMM is where the focus is set, in program XY; nil is refused.
	FocusPointMM *[2]float64 `json:"focus_point_mm"`
	// FocusPointHeightMM is the stock's height there, in mm over the datum; where it
	// is missing that is the height of the focus.
	FocusPointHeightMM *float64 `json:"focus_point_height_mm"`
	// StopLine is the line of the stop from which on the zone counts, in a
	// program that serves several and waits; 0 where the program serves it
	// alone.
	StopLine int `json:"stop_line"`
	// FocusStopLine is that of the stop at the focus point.
	FocusStopLine int `json:"focus_stop_line"`
	// RaisedLines are pairs of stops between which the lens is raised by
	// hand; a second line of 0 stands for the end of the program. RaisedMM is by
	// how much at least, for each pair; where it is missing that is not known.
	RaisedLines [][2]int  `json:"raised_lines"`
	RaisedMM    []float64 `json:"raised_mm"`
}

// pointHeight is the height that the focus point is said to have, and whether the
// list tells: a program that writes its focus has it set elsewhere.
func (z *Zone) pointHeight(setZ bool) (h float64, said bool) {
	switch {
	case z.FocusPointHeightMM != nil:
		return *z.FocusPointHeightMM, true
	case setZ:
		return 0, false
	}
	return *z.FocusMM, true
}

// mostBytes bounds what is read of a list of zones: a thousand times what
// a zone takes.
const mostBytes = 16 << 20

// mostZones is how many zones a list may have: no bench is set so often.
const mostZones = 10_000

// Read reads the list of a set; name stands for the file in errors, which
// are one line, or r's own.
func Read(r io.Reader, name string) (*Set, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, err
	}
	bad := func(format string, args ...any) (*Set, error) {
		return nil, fmt.Errorf("%s: %s", name, fmt.Sprintf(format, args...))
	}
	if len(text) > mostBytes {
		return bad("is longer than a list of zones can be")
	}
	var s Set
	if err := json.Unmarshal(text, &s); err != nil {
		return bad("is no list of zones: %v", err)
	}
	switch {
	case s.Schema != 1:
		return bad("has schema %d; 1 is read", s.Schema)
	case len(s.Zones) == 0:
		return bad("lists no zones")
	case len(s.Zones) > mostZones:
		return bad("lists %d zones; more than %d are refused", len(s.Zones), mostZones)
	case s.Order != "" && s.Order != Best && s.Order != InOrder:
		return bad("order %q is neither %q nor %q", s.Order, Best, InOrder)
	case !(s.OverlapMM >= 0) || math.IsInf(s.OverlapMM, 0):
		return bad("overlap_mm %g is not 0 or more", s.OverlapMM)
	}
	for i := range s.Zones {
		if fault := s.fault(i); fault != "" {
			return bad("zone %d: %s", i+1, fault)
		}
	}
	return &s, nil
}

// fault says what is wrong with zone i, whatever its program does.
func (s *Set) fault(i int) string {
	z := &s.Zones[i]
	first := slices.IndexFunc(s.Zones, func(o Zone) bool { return o.Program == z.Program })
	switch again := first < i; {
	case z.Program == "" || filepath.Base(z.Program) != z.Program || z.Program == ".." || z.Program == ".":
		return fmt.Sprintf("program %q is not a file of the folder", z.Program)
	case z.FocusMM == nil:
		return "has no focus_mm, the height at which its focus is set"
	case z.FocusPointMM == nil:
		return "has no focus_point_mm, the place at which its focus is set"
	case z.Order != nil && *z.Order != i+1:
		return fmt.Sprintf("order %d is not its place in the list", *z.Order)
	case (z.Order == nil) != (s.Zones[0].Order == nil):
		return "has no order, or another has none"
	case again && (z.StopLine == 0 || s.Zones[i-1].Program != z.Program):
		return fmt.Sprintf("program %q is that of zone %d already", z.Program, first+1)
	case z.StopLine < 0 || again && z.StopLine <= s.Zones[i-1].StopLine:
		return fmt.Sprintf("stop_line %d does not come after the zone before", z.StopLine)
	case (s.Paused || z.StopLine > 0) && (z.StopLine == 0 || z.FocusStopLine < z.StopLine):
		return fmt.Sprintf("stop_line %d and focus_stop_line %d are not those of a program that waits at its focus point", z.StopLine, z.FocusStopLine)
	case z.RaisedMM != nil && len(z.RaisedMM) != len(z.RaisedLines):
		return fmt.Sprintf("raised_mm has %d numbers for %d times that the lens is raised", len(z.RaisedMM), len(z.RaisedLines))
	}
	last := 0
	for k, r := range z.RaisedLines {
		if r[0] < max(last, 1) || r[1] <= r[0] && (r[1] != 0 || k+1 < len(z.RaisedLines)) {
			return fmt.Sprintf("raised_lines %v are not in order", z.RaisedLines)
		}
		last = r[1]
	}
	if slices.ContainsFunc(z.RaisedMM, func(by float64) bool { return by < 0 }) {
		return fmt.Sprintf("raised_mm %v would lower the lens", z.RaisedMM)
	}
	return ""
}
