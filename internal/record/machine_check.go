package record

import (
	"cmp"
	"slices"
	"strings"
)

// takenLetters have another meaning on a line that moves (RS274: axes, arc
// centre, motion, feed, dwell, line number, subroutine), and so cannot be power.
const takenLetters = "EGMNOXYZFIJKRP"

// endingWords stop or end a program (RS274, 3.6.1), and so cannot be beam words.
var endingWords = MWords{0, 1, 2, 30, 60}

// Validate checks every field and whether they go together. The error is a
// *diag.Error without file and line.
func (m *Machine) Validate() error {
	if err := check(m); err != nil {
		return err
	}
	switch {
	case m.ZMinMM != nil && m.ZMaxMM != nil && !(*m.ZMinMM < *m.ZMaxMM):
		return wrong("z_min_mm", "%g is not below z_max_mm, %g", *m.ZMinMM, *m.ZMaxMM)
	case m.XMM != nil && !(m.XMM[0] < m.XMM[1]):
		return wrong("x_mm", "%g is not below %g", m.XMM[0], m.XMM[1])
	case m.YMM != nil && !(m.YMM[0] < m.YMM[1]):
		return wrong("y_mm", "%g is not below %g", m.YMM[0], m.YMM[1])
	case m.Decimals != nil && (*m.Decimals < 0 || *m.Decimals > maxDecimals):
		return wrong("decimals", "wants 0 to %d, not %d", maxDecimals, *m.Decimals)
	case m.DecimalsMax != nil && (*m.DecimalsMax < 0 || *m.DecimalsMax > maxDecimals+inchDecimalsMore):
		return wrong("decimals_max", "wants 0 to %d, not %d", maxDecimals+inchDecimalsMore, *m.DecimalsMax)
	case m.LineMax != nil && *m.LineMax < 1:
		return wrong("line_max", "wants a number of characters above zero, not %d", *m.LineMax)
	case m.RapidsFire && !m.RapidsStraight:
		return wrong("rapids_fire", "G0 cannot burn where it does not go straight (rapids_straight)")
	}
	return cmp.Or(checkBeamWords("beam_on", m.BeamOn), checkBeamWords("beam_off", m.BeamOff),
		m.checkOnOff(), m.checkPowerWord(), m.checkPowerFollows(), m.checkHarmless(), m.checkHead())
}

func checkBeamWords(field string, words MWords) error {
	if len(words) == 0 {
		return wrong(field, "wants at least one M word")
	}
	for _, w := range words {
		switch {
		case w < 0:
			return wrong(field, "M%d is no M word", w)
		case slices.Contains(endingWords, w):
			return wrong(field, "M%d stops or ends a program, it cannot switch the beam", w)
		}
	}
	return checkTwice(field, words)
}

func (m *Machine) checkOnOff() error {
	for _, w := range m.BeamOn {
		if slices.Contains(m.BeamOff, w) {
			return wrong("beam_on", "M%d is in beam_off too (%s)", w, strings.Join(m.BeamOff.texts(), ", "))
		}
	}
	return nil
}

func (m *Machine) checkPowerWord() error {
	p := m.PowerWord
	switch {
	case len(p) != 1 || p[0] < 'A' || p[0] > 'Z':
		return wrong("power_word", "wants one capital letter, not %q", p)
	case strings.Contains(takenLetters, p) || p == m.ZAxis:
		return wrong("power_word", "%s has another meaning on a line", p)
	}
	return nil
}

func (m *Machine) checkPowerFollows() error {
	for _, w := range m.PowerFollowsSpeed {
		if !slices.Contains(m.BeamOn, w) {
			return wrong("power_follows_speed", "M%d is not in beam_on (%s)", w, strings.Join(m.BeamOn.texts(), ", "))
		}
	}
	return checkTwice("power_follows_speed", m.PowerFollowsSpeed)
}

func (m *Machine) checkHarmless() error {
	for _, w := range m.Harmless {
		if slices.Contains(m.BeamOn, w) {
			return wrong("harmless", "M%d lets the beam fire (beam_on)", w)
		}
	}
	return checkTwice("harmless", m.Harmless)
}

func checkTwice(field string, words MWords) error {
	for i, w := range words {
		if slices.Contains(words[:i], w) {
			return wrong(field, "M%d stands twice", w)
		}
	}
	return nil
}
