// Package measured reads what people measure of a lens, widths of the beam over
// z and the verdicts on the rungs of a focus ladder, and makes a lens record of
// it, with what was found in plain words. What cannot be read is a *diag.Error
// with line and column; what leads to nothing is one of kind Unmet.
package measured

import (
	"bytes"
	"fmt"
	"strconv"

	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Draft is a lens record in the making, and what was found out on the way.
type Draft struct {
	*record.Lens
	// Found are the lines of what was found, in plain words.
	Found []string
}

// Note adds a line to what was found.
func (d *Draft) Note(format string, args ...any) {
	d.Found = append(d.Found, phrase.Printable(fmt.Sprintf(format, args...)))
}

// Verdicts takes from a ladder's sheet, read from the file name, what was
// tested and how, and gives the sharp range, with a power in percent or, for 0, with that
// which is sharp furthest. The error is a *diag.Error, kind Unmet, where no rung is sharp,
// and Setting where none has the power.
func (d *Draft) Verdicts(name string, s *Verdicts, power float64) (*Sharp, error) {
	sharp, err := s.Sharp(power)
	if err != nil {
		return nil, From(name, err)
	}
	d.TestedOn, d.TestedFeedMMMin, d.SmallestDetailMM = s.Material, s.FeedMMMin, s.DetailMM
	if sharp.PowerPct > 0 {
		d.TestedPowerPct = &sharp.PowerPct
	}
	d.Note("%s: %s", name, phrase.Count(len(s.Rungs), "rung"))
	for _, n := range sharp.Notes {
		d.Note("%s", n)
	}
	return sharp, nil
}

// Forget takes from the record what was known of an earlier test: it says
// nothing of a new one.
func (d *Draft) Forget() {
	d.DepthMM, d.DepthErrorMM, d.FocusShiftMM = nil, nil, nil
	d.TestedOn, d.TestedPowerPct, d.TestedFeedMMMin, d.SmallestDetailMM = "", nil, nil, nil
}

// Rungs turns the sharp range into the record's depth. It counts from the
// bench's zero, as the ladder was marked; from the middle of the range where
// recentre asks for it, and where the zero is not within.
func (d *Draft) Rungs(r *Sharp, recentre bool) {
	shift, half := r.ShiftMM(), *rounded((r.HiMM - r.LoMM) / 2)
	outside := !(r.LoMM < 0 && r.HiMM > 0)
	d.FocusShiftMM = rounded(shift)
	d.DepthMM = &[2]float64{r.LoMM, r.HiMM}
	if outside || recentre {
		d.DepthMM = &[2]float64{-half, half}
	}
	sure := "; how sure that is the ladder's step tells, half of it at best: give it with --step"
	if r.ErrorMM > 0 {
		d.DepthErrorMM = rounded(r.ErrorMM)
		sure = "; a limit is sure to half a step at best, " + phrase.Trimmed(r.ErrorMM, 4) + " mm"
	}
	d.Note("sharp from %s to %s mm%s", phrase.Offset(r.LoMM), phrase.Offset(r.HiMM), sure)
	for _, end := range []struct {
		open bool
		mm   float64
	}{{r.OpenLo, r.LoMM}, {r.OpenHi, r.HiMM}} {
		if end.open {
			d.Note("no rung beyond %s mm was judged not sharp: the depth is at least that; a ladder with more reach tells the rest", phrase.Offset(end.mm))
		}
	}
	depth := "[" + phrase.Offset(d.DepthMM[0]) + ", " + phrase.Trimmed(d.DepthMM[1], 4) + "]"
	middle := phrase.Trimmed(shift, 4) + " mm further from the lens"
	if shift < 0 {
		middle = phrase.Trimmed(-shift, 4) + " mm nearer the lens"
	}
	switch {
	case phrase.Offset(shift) == "0":
		d.Note("best focus is at the bench's zero: depth_mm = %s", depth)
	case outside || recentre:
		if !recentre {
			d.Note("warning: the bench's zero is not between the sharp rungs, so no depth can count from it")
		}
		d.Note("depth_mm = %s counts from best focus, %s than the bench's zero: each run says to set the focus so far off the gauge, which is to stay as it is", depth, middle)
	default:
		d.Note("depth_mm = %s counts from the bench's zero; best focus, the middle, is %s: with --recentre it counts from there, both sides are %s mm, and each run says to set the focus there",
			depth, middle, phrase.Trimmed(half, 4))
		if r.ErrorMM > 0 && shift <= r.ErrorMM && -shift <= r.ErrorMM {
			d.Note("that shift is within half a step: it may be none")
		}
	}
	if d.TestedPowerPct != nil {
		d.Note("marked with %g %% power (tested_power_pct)", *d.TestedPowerPct)
	}
}

// A record must stay well within what is read of a settings file, however much
// was found.
const (
	mostComments   = 25
	longestComment = 240 // characters
)

// Text is the record as a file, what was found as comments before it.
func (d *Draft) Text() ([]byte, error) {
	var b bytes.Buffer
	for i, line := range d.Found {
		if i == mostComments {
			fmt.Fprintf(&b, "# and %d lines more\n", len(d.Found)-i)
			break
		}
		if r := []rune(line); len(r) > longestComment {
			line = string(r[:longestComment]) + " ..."
		}
		b.WriteString("# " + line + "\n")
	}
	err := record.Write(&b, d.Lens)
	return b.Bytes(), err
}

// recordDigits are the digits of a measured or computed number in a record:
// more than any measurement of a beam has.
const recordDigits = 6

func rounded(v float64) *float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', recordDigits, 64), 64)
	return &r
}
