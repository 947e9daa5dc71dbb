package measured

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
)

// Sharp is the range of offsets that stayed sharp, and how sure that is.
type Sharp struct {
	LoMM, HiMM float64 // the outermost sharp rungs
	// ErrorMM is half of the larger step from an outermost sharp rung to the
	// next one that was not: the most that a limit can be sure. 0: not known.
	ErrorMM float64
	// OpenLo and OpenHi tell that no rung beyond was seen to be unsharp: the
	// depth is at least so much.
	OpenLo, OpenHi bool
	PowerPct       *float64 // the power that kept most of these rungs sharp
	// Notes tell in plain words what the verdicts hold beyond that: gaps,
	// drift, powers.
	Notes []string
}

// ShiftMM is where the middle of the sharp range lies against the bench's
// zero: plus is further from the lens.
func (s *Sharp) ShiftMM() float64 { return s.LoMM + (s.HiMM-s.LoMM)/2 }

// sameMM is how near two offsets are one rung: less than any axis resolves.
const sameMM = 1e-6

// Limits makes a range of two limits; step is that of the ladder, 0 where not
// known. The error is a *diag.Error where they are one rung.
func Limits(lo, hi, step float64) (*Sharp, error) {
	if hi-lo < sameMM {
		return nil, oneRung(lo, step)
	}
	return &Sharp{LoMM: lo, HiMM: hi, ErrorMM: step / 2}, nil
}

// offset writes an offset with its sign.
func offset(mm float64) string {
	if mm == 0 {
		return "0"
	}
	return fmt.Sprintf("%+g", mm)
}

func oneRung(at, step float64) error {
	less := "the depth is less than a step of the ladder"
	if step > 0 {
		less += fmt.Sprintf(", %g mm", step)
	}
	return &diag.Error{Kind: diag.Unmet, What: fmt.Sprintf("only one rung is sharp, at %s mm: %s, and how much is not known", offset(at), less),
		Hint: "mark another ladder about it with a smaller step"}
}

// level is all that was said of one offset.
type level struct {
	mm            float64
	judged, sharp bool
}

// Sharp tells the unbroken run of sharp rungs about best focus: the one with
// the bench's zero, or if that is in none the longest. Of several powers a
// rung's best counts. Where a rung was marked again with the same power, the
// first verdict counts, for it was made next to its neighbours; that the
// second differs is noted as drift. The error is a *diag.Error
// where no depth follows.
func (v *Verdicts) Sharp() (*Sharp, error) {
	if !slices.ContainsFunc(v.Rungs, func(r Verdict) bool { return r.Judged }) {
		return nil, &diag.Error{Kind: diag.Unmet, What: "no rung has a verdict yet: the column sharp is blank throughout", Hint: "write y or n to each rung in the column sharp"}
	}
	first, notes := v.firstVerdicts()
	levels := levelsOf(first)
	from, to := run(levels)
	if from < 0 {
		return nil, &diag.Error{Kind: diag.Unmet, What: "no rung is sharp", Hint: "mark a ladder with more reach, other powers or another feed: too little power looks like out of focus"}
	}
	s := &Sharp{LoMM: levels[from].mm, HiMM: levels[to].mm, Notes: notes}
	if v.Ticked {
		s.Notes = append(s.Notes, "sharp rungs are ticked and none is refused, so blank is taken for not sharp")
	}
	s.gaps(levels, from, to)
	if from == to {
		err := oneRung(s.LoMM, v.step(levels))
		if len(s.Notes) > 0 {
			diag.As(err).What += "; " + s.Notes[len(s.Notes)-1]
		}
		return nil, err
	}
	s.OpenLo, s.OpenHi = true, true
	if from > 0 && levels[from-1].judged {
		s.OpenLo, s.ErrorMM = false, (levels[from].mm-levels[from-1].mm)/2
	}
	if to < len(levels)-1 && levels[to+1].judged {
		s.OpenHi, s.ErrorMM = false, math.Max(s.ErrorMM, (levels[to+1].mm-levels[to].mm)/2)
	}
	if s.ErrorMM == 0 {
		s.ErrorMM = v.step(levels) / 2
	}
	s.power(first, to-from+1)
	return s, nil
}

// step is the ladder's step in mm: as the sheet says, or the least distance of
// two rungs; 0 where there is one rung.
func (v *Verdicts) step(levels []level) float64 {
	if v.StepMM != nil {
		return *v.StepMM
	}
	step := 0.0
	for i := 1; i < len(levels); i++ {
		if d := levels[i].mm - levels[i-1].mm; step == 0 || d < step {
			step = d
		}
	}
	return step
}

// firstVerdicts gives the first judged verdict on each offset and power, and
// notes of those that a later one contradicts.
func (v *Verdicts) firstVerdicts() (first []Verdict, notes []string) {
	for _, r := range v.Rungs {
		i := slices.IndexFunc(first, func(f Verdict) bool {
			return math.Abs(f.OffsetMM-r.OffsetMM) < sameMM && samePower(f.PowerPct, r.PowerPct)
		})
		switch {
		case i < 0:
			first = append(first, r)
		case !first[i].Judged:
			first[i] = r
		case r.Judged && first[i].Sharp != r.Sharp:
			was, is := "sharp", "not sharp"
			if r.Sharp {
				was, is = is, was
			}
			notes = append(notes, fmt.Sprintf("drift: the rung at %s mm%s was %s first and %s when it was marked again: the focus moved during the ladder (heat, a slipping axis, bowed stock); the first counts here, but mark the ladder again",
				offset(r.OffsetMM), atPower(r.PowerPct), was, is))
		}
	}
	return first, notes
}

func samePower(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

func atPower(p *float64) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf(" and %g %% power", *p)
}

// levelsOf joins the powers of each offset, in the order of offsets.
func levelsOf(rungs []Verdict) []level {
	sorted := slices.Clone(rungs)
	slices.SortStableFunc(sorted, func(a, b Verdict) int {
		switch {
		case a.OffsetMM < b.OffsetMM:
			return -1
		case a.OffsetMM > b.OffsetMM:
			return 1
		}
		return 0
	})
	var out []level
	for _, r := range sorted {
		if n := len(out); n == 0 || r.OffsetMM-out[n-1].mm >= sameMM {
			out = append(out, level{mm: r.OffsetMM})
		}
		l := &out[len(out)-1]
		l.judged = l.judged || r.Judged
		l.sharp = l.sharp || r.Sharp
	}
	return out
}

// run finds the unbroken run of sharp levels about zero, or else the longest,
// of equal ones that nearest to zero; -1 where none is sharp.
func run(levels []level) (from, to int) {
	from, to = -1, -1
	distance := math.Inf(1)
	for i := 0; i < len(levels); i++ {
		if !levels[i].sharp {
			continue
		}
		j := i
		for j+1 < len(levels) && levels[j+1].sharp {
			j++
		}
		if levels[i].mm < sameMM && levels[j].mm > -sameMM {
			return i, j
		}
		away := math.Min(math.Abs(levels[i].mm), math.Abs(levels[j].mm))
		if from < 0 || j-i > to-from || j-i == to-from && away < distance {
			from, to, distance = i, j, away
		}
		i = j
	}
	return from, to
}

// gaps notes sharp levels outside the run: they are left out.
func (s *Sharp) gaps(levels []level, from, to int) {
	for i, l := range levels {
		if !l.sharp || i >= from && i <= to {
			continue
		}
		// The levels between it and the run.
		lo, hi := i+1, from
		if i > to {
			lo, hi = to+1, i
		}
		why := "is not judged"
		at := lo
		for k := lo; k < hi; k++ {
			if levels[k].judged && !levels[k].sharp {
				why, at = "is not sharp", k
				break
			}
			if !levels[k].judged {
				at = k
			}
		}
		s.Notes = append(s.Notes, fmt.Sprintf("a gap: the rung at %s mm is sharp, but the one at %s mm between it and best focus %s: it is left out; judge these rungs again",
			offset(l.mm), offset(levels[at].mm), why))
	}
}

// power picks the power that kept most rungs of the run sharp, of equal ones
// the lowest.
func (s *Sharp) power(rungs []Verdict, of int) {
	kept := map[float64]int{}
	for _, r := range rungs {
		if r.PowerPct != nil {
			kept[*r.PowerPct] += 0
			if r.Sharp && r.OffsetMM > s.LoMM-sameMM && r.OffsetMM < s.HiMM+sameMM {
				kept[*r.PowerPct]++
			}
		}
	}
	for p, n := range kept {
		if s.PowerPct == nil || n > kept[*s.PowerPct] || n == kept[*s.PowerPct] && p < *s.PowerPct {
			s.PowerPct = &p
		}
	}
	if len(kept) > 1 {
		n := kept[*s.PowerPct]
		note := fmt.Sprintf("of %d powers, %g %% kept most rungs sharp, %d of these %d, and is the record's tested_power_pct", len(kept), *s.PowerPct, n, of)
		if n < of {
			note += "; the others were sharp with other powers only"
		}
		s.Notes = append(s.Notes, note)
	}
}
