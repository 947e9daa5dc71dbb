package say

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/verify"
)

// bare is what is the same on each sheet: of a program in a file, "" where it goes to
// standard output, of which first is where its first burn begins.
func bare(j *job.Job, program string, first *machine.Point, work machine.GCode, instead string, travels int) setup.Sheet {
	s := setup.Sheet{Program: "the program", Surface: filepath.Base(j.Surface), Unsure: j.Unsure.String(), Boxes: j.Boxes, Given: j.Lenses[0].Taken()}
	if program != "" && program != "-" {
		s.Program = filepath.Base(program)
	}
	if work != 0 {
		s.Work = "G" + work.Number().String()
	}
	if f := j.Fixture; f != nil {
		s.Fixture = "the fixture is " + setup.Word(f.Name)
		if f.WorkOffset != nil {
			s.Select = *f.WorkOffset
		}
		if f.MeasuredAt != nil {
			s.Fixture += ", where it stood when it was measured, " + record.At(*f.MeasuredAt)
		}
		if f.HeightsOf == record.OfBlank {
			s.Fixture += "; the blank is the one that was loaded " + j.Loaded + " and touched"
		}
	}
	s.Jig, s.Places = jigged(j)
	z := phrase.Trimmed(j.Config.Start.Z, 3)
	if at := j.Config.Start; j.Config.StartXYKnown {
		s.Start = fmt.Sprintf("bring the head to %s at Z%s, from where the program is taken to start, clear of all that stands about it", phrase.XY(at.X, at.Y), z)
	} else {
		s.Start = fmt.Sprintf("the program is taken to start at Z%s, from wherever the head stands: see that its way to %s, where it first burns, is clear", z, phrase.XY(first.X, first.Y))
	}
	s.Less, s.ByFeeds = j.Lenses[0].Budget.MostLess(), j.Machine.AccelMMS2 == nil
	if l := j.Lenses[0].Record; l != nil {
		s.Standoff = l.StandoffMM
	}
	s.Clear = texts.Lines("head", of{"Head": &j.Head, "Instead": instead})
	if not := notKnown(j, travels); len(not) > 0 {
		s.Clear = append(s.Clear, strings.TrimPrefix(butFor(not), "; "))
	}
	return s
}

// listedPlaces is how many places a sheet lists.
const listedPlaces = 24

// jigged says of the program of many parts where they lie.
func jigged(j *job.Job) (what string, list []string) {
	if len(j.Places) == 0 {
		return "", nil
	}
	made := 0
	for k := range j.Places {
		if p := &j.Places[k]; p.Skip || k+1 < j.From {
			continue
		}
		made++
	}
	what = fmt.Sprintf("blanks are at the %s that are made, one part whole before the next; after a stop sagitta run --from N goes on with number N", phrase.Count(made, "place"))
	for k := range j.Places {
		text := fmt.Sprintf("%d: %s", k+1, j.Places[k].String())
		if k+1 < j.From {
			text += ", done before"
		}
		list = append(list, text)
	}
	if n := len(list) - listedPlaces; n > 1 {
		list = append(list[:listedPlaces], fmt.Sprintf("and %d more, of %s", n, setup.Word(j.Options.Places)))
	}
	return what, list
}

// FollowSheet is the bench sheet of a program that was followed, and written to a file.
func FollowSheet(j *job.Job, out string, rehearsal bool, f *follow.Summary) []byte {
	s := bare(j, out, f.First, f.Work, nearest(f.Nearest, "at most ", "at least "), f.Unchecked)
	s.Corrected, s.Moves, s.Within, s.Rehearsal = f.Changed+f.Added > 0, f.PeakRate > 0 && j.Machine.ZMoves == record.ZAlways, max(f.Near, f.Far), rehearsal
	s.Setting, s.Usable, s.Shifted = job.Setup{Job: j}.Setting(f.First), j.Lenses[0].Writing, f.Shifted
	frame(&f.Frame, func(_ int, format string, args ...any) { s.Frame = append(s.Frame, fmt.Sprintf(format, args...)) })
	s.Burns, s.Length, s.Extent, s.Seconds = f.Burns, f.BurnLength, f.Extent, f.SecondsOut
	s.Low, s.High, s.ZLow, s.ZHigh = f.Low, f.High, f.ZLow, f.ZHigh
	return s.Text()
}

// VerifySheet is the bench sheet of a program that holds with the focus set so.
func VerifySheet(j *job.Job, name string, set setup.Setting, rehearsal bool, r *verify.Result) []byte {
	s := bare(j, name, r.First, r.Work, nearest(r.Nearest, "", ""), r.Unchecked)
	s.Corrected, s.Moves, s.Within, s.Rehearsal = r.Corrected, r.PeakZRate > 0, math.Abs(r.Defocus.MM), rehearsal
	s.Setting, s.Usable, s.Shifted = set, j.Lenses[0].Checking, r.Shifted
	s.Frame = r.Frame
	s.Burns, s.Length, s.Extent, s.Seconds = r.Burns, r.BurnLengthMM, r.Extent, r.Seconds
	s.Low, s.High, s.ZLow, s.ZHigh = r.Lowest, r.Highest, r.ZMinMM, r.ZMaxMM
	return s.Text()
}
