package probe

import (
	"fmt"

	"github.com/paulmach/orb"

	"sagitta/internal/compose"
	"sagitta/internal/diag"
	"sagitta/internal/record"
)

// slowPart is the part of the probe's feed that the datum is touched with:
// everything counts from it.
const slowPart = 0.25

// Program gives the touch-probing program for a bench, its travels as high as aloft
// says. The tool goes up straight before it goes anywhere else, and down to stock, of
// which nobody knows how high it is, only by moves that end where it touches. Z is 0
// where the tool touches the datum; the operator sets it so.
// made is the first comment. The error, a *diag.Error, is that Z would leave its
// range, or a line be too long for the controller.
func (p *Probing) Program(m *record.Machine, aloft Aloft, made string) ([]byte, error) {
	highest := p.Highest(aloft)
	for _, z := range []float64{m.Sigma() * highest, -m.Sigma() * m.ProbeDepthMM} {
		if m.ZMinMM != nil && z < *m.ZMinMM || m.ZMaxMM != nil && z > *m.ZMaxMM {
			return nil, diag.Errorf(diag.Setting, "give a smaller --clear, or another probe_depth_mm or range in the profile",
				"touching would take Z to %g mm, beyond the profile's range", z)
		}
	}
	w := compose.New(m)
	comment := func(format string, args ...any) { w.Comment(fmt.Sprintf(format, args...)) }
	at := func(q orb.Point) (x, y string) {
		return w.Length('X', q[0]-m.ProbeOffsetMM[0]), w.Length('Y', q[1]-m.ProbeOffsetMM[1])
	}
	up := func(height float64) { w.Block("G0", w.Length(m.ZAxis[0], m.Sigma()*height)) }
	touch := func(k int, part float64) {
		w.Block("G38.2", w.Length(m.ZAxis[0], -m.Sigma()*m.ProbeDepthMM), w.Feed(m.ProbeFeedMMMin*part))
		up(p.way(aloft, p.Places[k], p.next(k)))
	}
	comment("%s", made)
	first, zero := "datum", "where the touch tool meets the datum"
	if p.Zero != "" {
		first, zero = "that at", p.Zero
	}
	comment("touches %d places from X%.3f Y%.3f to X%.3f Y%.3f mm, %s X%.3f Y%.3f, first and last", len(p.Places),
		p.X[0], p.Y[0], p.X[len(p.X)-1], p.Y[len(p.Y)-1], first, p.Places[0][0], p.Places[0][1])
	higher := ""
	if highest > aloft.OverMM {
		higher = fmt.Sprintf(", and further from the datum at up to %g mm, as stock may lie out of level", highest)
	}
	comment("set %s to 0 %s: between touches it is at %g mm over it%s", m.ZAxis, zero, aloft.OverMM, higher)
	comment("start from below that height: the first move is straight up to it")
	if o := m.ProbeOffsetMM; o != [3]float64{} {
		comment("probe_offset_mm: the touch tool sits at X%g Y%g Z%g from the beam: places logged are those of the beam", o[0], o[1], o[2])
		comment("give --shift %g,%g to the command that makes the surface", o[0], o[1])
	}
	w.Block(w.Off())
	w.Block(w.Unit(), "G90", "G94")
	w.Block(w.Dark())
	up(highest)
	for k, q := range p.Places {
		comment("place %d", k+1)
		x, y := at(q)
		w.Block("G0", x, y)
		if k == 0 {
			touch(k, slowPart)
		} else {
			touch(k, 1)
		}
	}
	comment("place 1 again: drift shows")
	x, y := at(p.Places[0])
	w.Block("G0", x, y)
	touch(0, slowPart)
	w.Block("M2")
	return w.Text()
}

// Seconds estimates how long that takes from where the head is up for the first time, for a
// surface near the datum.
func (p *Probing) Seconds(m *record.Machine, aloft Aloft) float64 {
	up, down, height := 0.0, 0.0, p.Highest(aloft)
	for k, q := range p.Places {
		if k == 0 {
			height /= slowPart
		}
		down += height
		height = p.way(aloft, q, p.next(k))
		up += height
	}
	down += height / slowPart
	up += p.way(aloft, p.Places[0], p.next(0))
	return 60 * (down/m.ProbeFeedMMMin + (p.Travel()+up)/m.RapidMMMin)
}
