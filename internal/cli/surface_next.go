package cli

import (
	"fmt"
	"math"
	"path/filepath"

	"github.com/paulmach/orb"

	"sagitta/internal/cli/files"
	"sagitta/internal/fit"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/record"
	"sagitta/internal/surface"
)

// job reads the bench, and what the program of --for burns, in program XY.
func (o *surfaceOptions) job(s *session) (*record.Machine, orb.MultiLineString, error) {
	m, err := job.ReadMachine(s.open, o.Machine)
	if err != nil {
		return nil, nil, err
	}
	if o.Next != "" && m.ZMoves == record.ZByHand && !o.ByHand {
		return nil, nil, usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.Machine)
	}
	if o.For == "" {
		return m, nil, nil
	}
	burns, _, err := readBurns(s, m.Config(nil, 0), o.For)
	return m, burns, err
}

// touchNext are the files of --next: a program that touches, or a sheet with its map. They
// begin and end at the datum, or else at the first touch, so that what comes back can be
// held to what is there.
func (o *surfaceOptions) touchNext(s *session, m *fit.Measured, next []fit.Next, bench *record.Machine) ([]files.Result, error) {
	if o.Next == "" || len(next) == 0 {
		return nil, nil
	}
	first := orb.Point{m.Reading.Points[0].X, m.Reading.Points[0].Y}
	zero := "where it was when the heights were measured"
	if d := m.Header.Datum; d != nil {
		first, zero = orb.Point(*d), ""
	}
	places := []orb.Point{first}
	for _, n := range next {
		if q := orb.Point(n.At); q != first {
			places = append(places, q)
		}
	}
	p := probe.At(places, nil, first)
	p.Zero = zero
	title := fmt.Sprintf("%s: %s to touch next", shortName(m.Name), phrase.Count(len(places), "place"))
	if o.ByHand {
		return append(mapFiles(mapOf(true, o.Next), p.Map(title)), files.Result{Name: o.Next, Text: p.Sheet(title, 0)}), nil
	}
	beside := [2]float64{bench.ProbeOffsetMM[0], bench.ProbeOffsetMM[1]}
	lies := surface.Placement{}
	if beside != [2]float64{} {
		// What is logged are places of the beam: to go beside what is there, that must be so.
		lies = m.Header.Placement()
		if (lies != surface.Placement{ShiftX: beside[0], ShiftY: beside[1]}) {
			return nil, usagef(fmt.Sprintf("give --shift %g,%g if the touches in %s were logged by it too; else touch by hand, with --by-hand", beside[0], beside[1], m.Name),
				"the touch tool sits at X%g Y%g from the beam (%s: probe_offset_mm), and what comes back would not lie where the touches in %s do", beside[0], beside[1], o.Machine, m.Name)
		}
		for k := range places {
			places[k] = orb.Point{places[k][0] + beside[0], places[k][1] + beside[1]}
		}
		p = probe.At(places, nil, places[0])
		p.Zero = zero
	}
	head, err := job.ReadHead(s.open, o.KeepOut, bench, nil)
	if err != nil {
		return nil, err
	}
	if p.Stock, err = surface.Place(m.Written.Surface, lies); err != nil {
		return nil, err
	}
	_, high, _, _ := p.Stock.Range()
	aloft := probe.Level(max(usualClear, math.Ceil(high+overHighest)))
	if err := p.Clear(bench, aloft, head.Boxes, m.Header.WrapsYMM, head.Known, nil); err != nil {
		return nil, err
	}
	text, err := p.Program(bench, aloft, fmt.Sprintf("%s touches after %s", maker, filepath.Base(m.Name)))
	return []files.Result{{Name: o.Next, Text: text}}, err
}
