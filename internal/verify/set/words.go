package set

import (
	"math"

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
