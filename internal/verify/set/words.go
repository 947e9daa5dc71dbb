package set

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"sagitta/internal/verify"
)

// waitsOf are the lines at which the program of a zone waits for the operator, by the
// list: to set the focus, and to raise the lens and bring it back.
func waitsOf(z *Zone, raised [][2]int) (lines []int) {
	for _, stop := range []int{z.StopLine, z.FocusStopLine} {
		if stop > 0 {
			lines = append(lines, stop)
		}
	}
	for _, r := range raised {
		lines = append(lines, r[0])
		if r[1] > 0 {
			lines = append(lines, r[1])
		}
	}
	return lines
}

// mayWait reports whether the wait under way, with the beam off, needs nothing in the
// original: where the operator moves the lens as the program waits, the list must have
// it.
func (r *zone) mayWait() bool {
	return !r.stops && !r.byHand || slices.Contains(r.listed, r.S.Line)
}

// The heights that the operator is told at a wait, as they are written there.
var (
	toldRaise = regexp.MustCompile(`(?i)\braise the lens (?:by|to) (\d+(?:\.\d*)?) mm`)
	toldFocus = regexp.MustCompile(`(?i)\bset the focus here, ([-+]?\d+(?:\.\d*)?) mm over the datum`)
)

// toldRounding is what a height loses in the three decimals that are told.
const toldRounding = 0.0005 + 1e-9

// tells holds what a comment tells the operator at the wait under way, where it can
// be read, to the list.
func (r *zone) tells() {
	z, text := r.list, r.Remark()
	number := func(in *regexp.Regexp) float64 {
		if told := in.FindStringSubmatch(text); told != nil {
			if v, err := strconv.ParseFloat(told[1], 64); err == nil {
				return v
			}
		}
		return math.NaN()
	}
	differs := func(told, want float64, format string) {
		r.Res.Fail(verify.Violation{Kind: verify.ToldDiffers, Line: r.S.Line, X: math.NaN(), Y: math.NaN(), Amount: told - want,
			Detail: fmt.Sprintf(format, verify.Number(told), verify.Number(want))})
	}
	if told := number(toldFocus); r.S.Line == z.FocusStopLine && math.Abs(told-*z.FocusMM) > toldRounding {
		differs(told, *z.FocusMM, "to set the focus %s mm over the datum instead of %s mm")
	}
	for k, lines := range z.RaisedLines {
		if told := number(toldRaise); r.byHand && k < len(z.RaisedMM) && lines[0] == r.S.Line && told < z.RaisedMM[k]-toldRounding {
			differs(told, z.RaisedMM[k], "to raise the lens by %s mm, and it is %s mm at least")
		}
	}
}

// noWaits reports the lines at which the program should have waited.
func (r *zone) noWaits() {
	for _, line := range r.waits {
		r.Res.Fail(verify.Violation{Kind: verify.NoWait, Line: line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
			Detail: "the list has the lens set by hand here"})
	}
}

// air are states of the air (M7, M8), a bit for each of the four.
type air uint8

const (
	noAir  air = 1
	anyAir air = 0xf
)

// airOf is that of a step.
func airOf(s *verify.Step) air {
	switch {
	case s.Mist && s.Flood:
		return 8
	case s.Mist:
		return 4
	case s.Flood:
		return 2
	}
	return noAir
}

// breathe holds the air of the travels up to here to what the original had
// meanwhile; o is the burn that was found, nil at the end. Off is always right. In a
// program with stops zones follow each other that do not in the original: there the
// air may be as it is anywhere.
func (r *zone) breathe(o *verify.Step) {
	if r.stops && o != nil {
		return
	}
	if r.blows&^(r.blew|noAir) != 0 {
		r.Fail(verify.WordDiffers, o, 0, math.NaN(), "in a travel before, air (M7, M8) is on that the original has not there")
	}
	r.blows = 0
}
