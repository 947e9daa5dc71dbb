package measured

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
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
	PowerPct       float64 // the power that these rungs were marked with; 0: not said
	// Notes tell in plain words what the verdicts hold beyond that: gaps,
	// drift, powers.
	Notes []string
}

func (s *Sharp) note(format string, args ...any) {
	s.Notes = append(s.Notes, fmt.Sprintf(format, args...))
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

func oneRung(at, step float64) error {
	less := "the depth is less than a step of the ladder"
	if step > 0 {
		less += fmt.Sprintf(", %g mm", step)
	}
	return diag.Errorf(diag.Unmet, "mark another ladder about it with a smaller step",
		"only one rung is sharp, at %s mm: %s, and how much is not known", phrase.Offset(at), less)
}

// offset is all that was said of the rungs at one offset.
type offset struct {
	mm            float64
	judged, sharp bool
}

// Sharp tells the unbroken run of sharp rungs about best focus: the one with
// the bench's zero, or if that is in none the longest. A depth belongs to one power, so
// of several each has its own run; power chooses one, and 0 that which has the widest, of
// equal ones the lowest: where more power only chars, less is sharp further. Where a
// rung was marked again with the same power, the first judgement counts, for it was made
// next to its neighbours; that the second differs is noted as drift. The error is a
// *diag.Error where no depth follows.
func (v *Verdicts) Sharp(power float64) (*Sharp, error) {
	if !slices.ContainsFunc(v.Rungs, func(r Judgement) bool { return r.Judged }) {
		return nil, diag.Errorf(diag.Unmet, "write y or n to each rung in the column sharp", "no rung has a verdict yet: the column sharp is blank throughout")
	}
	powers := v.powers()
	if power > 0 && len(powers) > 0 {
		if !slices.Contains(powers, power) {
			return nil, diag.Errorf(diag.Setting, "", "no rung was marked with %g %% power; there is %s", power, percents(powers))
		}
		powers = []float64{power}
	}
	if len(powers) < 2 {
		return v.with(powers...)
	}
	var best *Sharp
	var each []string
	var first error
	for _, p := range powers {
		s, err := v.with(p)
		if err != nil {
			first = cmp.Or(first, err)
			each = append(each, fmt.Sprintf("%g %%: no depth", p))
			continue
		}
		each = append(each, fmt.Sprintf("%g %%: %s to %s mm", p, phrase.Offset(s.LoMM), phrase.Offset(s.HiMM)))
		if best == nil || s.HiMM-s.LoMM > best.HiMM-best.LoMM+sameMM {
			best = s
		}
	}
	if best == nil {
		e := *diag.As(first)
		e.What += "; and that with each of " + percents(powers) + " power"
		return nil, &e
	}
	best.note("a depth belongs to one power: %s; the record is of %g %%, which is sharp furthest; --power takes another", strings.Join(each, ", "), best.PowerPct)
	return best, nil
}

// powers are those that rungs were marked with, rising; none where none is said.
func (v *Verdicts) powers() (list []float64) {
	for _, r := range v.Rungs {
		if r.PowerPct > 0 {
			list = append(list, r.PowerPct)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// percents lists powers.
func percents(powers []float64) string {
	var words []string
	for _, p := range powers {
		words = append(words, fmt.Sprintf("%g", p))
	}
	return strings.Join(words, ", ") + " %"
}

// with is the run of the rungs of a power, of all where none is given. A rung of which no
// power is said is of any.
func (v *Verdicts) with(power ...float64) (*Sharp, error) {
	s := &Sharp{}
	rungs := s.first(v.Rungs) // what moved meanwhile has moved for all
	if len(power) > 0 {
		s.PowerPct = power[0]
		rungs = slices.DeleteFunc(rungs, func(r Judgement) bool { return r.PowerPct != 0 && r.PowerPct != s.PowerPct })
	}
	offsets := offsetsOf(rungs)
	from, to := longest(offsets)
	if from < 0 {
		return nil, diag.Errorf(diag.Unmet, "mark a ladder with more reach, other powers or another feed: too little power looks like out of focus", "no rung is sharp")
	}
	s.LoMM, s.HiMM = offsets[from].mm, offsets[to].mm
	if v.Ticked {
		s.note("sharp rungs are ticked and none is refused, so blank is taken for not sharp")
	}
	s.gaps(offsets, from, to)
	step := v.step(offsets)
	if from == to {
		err := oneRung(s.LoMM, step)
		if n := len(s.Notes); n > 0 {
			diag.As(err).What += "; " + s.Notes[n-1]
		}
		return nil, err
	}
	s.OpenLo = from == 0 || !offsets[from-1].judged
	s.OpenHi = to == len(offsets)-1 || !offsets[to+1].judged
	if !s.OpenLo {
		s.ErrorMM = (s.LoMM - offsets[from-1].mm) / 2
	}
	if !s.OpenHi {
		s.ErrorMM = max(s.ErrorMM, (offsets[to+1].mm-s.HiMM)/2)
	}
	s.ErrorMM = cmp.Or(s.ErrorMM, step/2)
	return s, nil
}

// step is the ladder's step in mm: as the sheet says, or the least distance of
// two rungs; 0 where there is one rung.
func (v *Verdicts) step(offsets []offset) float64 {
	if v.StepMM != nil {
		return *v.StepMM
	}
	step := 0.0
	for i := 1; i < len(offsets); i++ {
		if d := offsets[i].mm - offsets[i-1].mm; step == 0 || d < step {
			step = d
		}
	}
	return step
}

// first gives the first judgement on each offset and power, and notes those that
// a later one contradicts.
func (s *Sharp) first(rungs []Judgement) (first []Judgement) {
	for _, r := range rungs {
		i := slices.IndexFunc(first, func(f Judgement) bool {
			return math.Abs(f.OffsetMM-r.OffsetMM) < sameMM && f.PowerPct == r.PowerPct
		})
		switch {
		case i < 0:
			first = append(first, r)
		case !first[i].Judged:
			first[i] = r
		case r.Judged && first[i].Sharp != r.Sharp:
			was, is, power := "sharp", "not sharp", ""
			if r.Sharp {
				was, is = is, was
			}
			if r.PowerPct > 0 {
				power = fmt.Sprintf(" and %g %% power", r.PowerPct)
			}
			s.note("drift: the rung at %s mm%s was %s first and %s when it was marked again: the focus moved during the ladder (heat, a slipping axis, bowed stock); the first counts here, but mark the ladder again",
				phrase.Offset(r.OffsetMM), power, was, is)
		}
	}
	return first
}

// offsetsOf joins the powers of each offset, in the order of offsets.
func offsetsOf(rungs []Judgement) (out []offset) {
	for _, r := range slices.SortedStableFunc(slices.Values(rungs), func(a, b Judgement) int { return cmp.Compare(a.OffsetMM, b.OffsetMM) }) {
		if n := len(out); n == 0 || r.OffsetMM-out[n-1].mm >= sameMM {
			out = append(out, offset{mm: r.OffsetMM})
		}
		o := &out[len(out)-1]
		o.judged = o.judged || r.Judged
		o.sharp = o.sharp || r.Sharp
	}
	return out
}

// longest finds the unbroken run of sharp offsets about zero, or else the
// longest, of equal ones that nearest to zero; -1 where none is sharp.
func longest(offsets []offset) (from, to int) {
	from, to = -1, -1
	distance := math.Inf(1)
	for i := 0; i < len(offsets); i++ {
		if !offsets[i].sharp {
			continue
		}
		j := i
		for j+1 < len(offsets) && offsets[j+1].sharp {
			j++
		}
		lo, hi := offsets[i].mm, offsets[j].mm
		if lo < sameMM && hi > -sameMM {
			return i, j
		}
		zero := min(math.Abs(lo), math.Abs(hi))
		if from < 0 || j-i > to-from || j-i == to-from && zero < distance {
			from, to, distance = i, j, zero
		}
		i = j
	}
	return from, to
}

// gaps notes sharp offsets outside the run: they are left out.
func (s *Sharp) gaps(offsets []offset, from, to int) {
	for i, o := range offsets {
		if !o.sharp || i >= from && i <= to {
			continue
		}
		between := offsets[min(i, to)+1 : max(i, from)]
		why := "is not sharp"
		k := slices.IndexFunc(between, func(o offset) bool { return o.judged && !o.sharp })
		if k < 0 {
			why = "is not judged"
			for k = len(between) - 1; between[k].judged; k-- {
			}
		}
		s.note("a gap: the rung at %s mm is sharp, but the one at %s mm between it and best focus %s: it is left out; judge these rungs again",
			phrase.Offset(o.mm), phrase.Offset(between[k].mm), why)
	}
}
