// Package drawn draws programs for tests: jobs of a few figures within a
// square, in every spelling, mode, offset and line end that is read. Whoever
// works on programs is tested with all of them, or says with which not.
package drawn

import (
	"math"
	"slices"
	"strings"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
)

// A Construct is something that a program may have, and be drawn without.
type Construct string

// The constructs that can be left out.
const (
	Offsets       Construct = "axis offsets: G92, G92.1, G92.2, G92.3"
	LastOffsets   Construct = "axis offsets that may be set after the last burn"
	CentrePlaces  Construct = "arcs by the place of their centre: G90.1"
	MachinePlaces Construct = "travels in machine coordinates: G53"
	StoredPlaces  Construct = "travels to a stored place: G28, G30"
	Ends          Construct = "several programs in a file: M30 between figures"
	Numbers       Construct = "line numbers"
	Sums          Construct = "checksums"
	CRLF          Construct = "lines that end in CRLF"
	NoNewline     Construct = "a last line without an end"
	Inches        Construct = "inches"
	Units         Construct = "units that change on the way"
	Relative      Construct = "distances: G91"
	InverseTime   Construct = "feeds as inverse time: G93"
	Passes        Construct = "burns at several Z"
	Benches       Construct = "another focus letter, other beam words"
	LastBurn      Construct = "a beam that nothing puts off after the last burn"
	LastLine      Construct = "a line that puts the beam off, travels and ends the program"
	BurnEnds      Construct = "a burn whose line ends the program"
	Pauses        Construct = "pauses within figures"
	Between       Construct = "tools, texts, pauses and ends of programs between burns"
	FromHere      Construct = "a first motion in G91"
	Silence       Construct = "no word of beam or power, or of one of the two only"
)

// Options say what is drawn.
type Options struct {
	// Side is that of the square from the origin that all moves stay in, but
	// for a bulge of arcs, in mm.
	Side float64
	// Without are the constructs that are not drawn.
	Without []Construct
}

// Program is a drawn job, and the bench that it is for.
type Program struct {
	Text string
	// Axis moves the focus. BeamOn and BeamOff are M words; of those on,
	// PowerFollows scale the power with the speed.
	Axis                          byte
	BeamOn, BeamOff, PowerFollows []int
	// Inches tells that lengths are in inches before the program says so.
	Inches bool
	// Numbered tells that its lines have numbers and checksums, so that
	// added ones have to have them too.
	Numbered bool
	// Silent tells that it has no word of beam or power.
	Silent bool
}

// Config is the interpreter's, for the program's bench.
func (p *Program) Config() machine.Config {
	c := machine.DefaultConfig()
	c.ZAxis, c.BeamOn, c.BeamOff, c.PowerFollows, c.Inches = p.Axis, p.BeamOn, p.BeamOff, p.PowerFollows, p.Inches
	return c
}

// pick is rapid.SampledFrom for short.
func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// between draws a number that may lie anywhere in a range: most that
// rapid.Float64Range draws are next to nothing.
func between(t *rapid.T, label string, lo, hi float64) float64 {
	const steps = 48
	v := lo + (hi-lo)*float64(rapid.IntRange(0, steps).Draw(t, label))/steps
	return max(lo, min(hi, v+(hi-lo)*rapid.Float64Range(-0.5, 0.5).Draw(t, label+"'s rest")/steps))
}

// Draw draws a job of one to four figures. All that it burns is within the
// square, and nothing of it is refused.
func Draw(t *rapid.T, o Options) *Program {
	p := &pen{t: t, o: o, lineStyle: drawStyle(t, o)}
	p.speaks = "both"
	if p.may(Silence) {
		p.speaks = pick(t, "speaks", "both", "both", "both", "both", "beam", "power", "none")
	}
	out := Program{Axis: 'Z', BeamOn: []int{3, 4}, BeamOff: []int{5}, PowerFollows: []int{4}}
	p.on, p.off = []string{"M3", "M4"}, "M5"
	if p.may(Benches) && pick(t, "bench", false, false, true) {
		out.Axis = pick(t, "axis", byte('U'), 'V', 'W', 'A')
		out.BeamOn, out.BeamOff, out.PowerFollows = []int{106}, []int{107}, nil
		p.on, p.off = []string{"M106"}, "M107"
	}
	p.axis, p.up = string(out.Axis), pick(t, "up", 1.0, 1, 1, -1)
	p.inch = p.may(Inches) && pick(t, "inch", false, false, true)
	p.head(&out)
	figures := rapid.IntRange(1, 4).Draw(t, "figures")
	lit := false
	for n := range figures {
		p.approach()
		if n > 0 && rapid.Bool().Draw(t, "more") {
			p.interlude()
		}
		p.figure(n == figures-1)
		if lit = n == figures-1 && p.may(LastBurn) && rapid.IntRange(0, 5).Draw(t, "left on") == 0; !lit {
			p.dark()
		}
	}
	p.tail(lit)
	out.Text, out.Numbered, out.Silent = p.text(), p.numbers && p.sums, p.speaks == "none"
	return &out
}

// head writes what stands before the first figure.
func (p *pen) head(out *Program) {
	t := p.t
	p.raw(pick(t, "number", "", "", "", "O100", "$32=1", ":7 (part)", "%"))
	p.textLine("M117 it's 5*3")
	p.work = pick(t, "work", "G54", "G55")
	p.line("%s", p.work)
	units := p.unitWord()
	if rapid.IntRange(0, 3).Draw(t, "profile's units") == 0 {
		out.Inches, units = p.inch, ""
	} else if p.may(Inches) {
		out.Inches = rapid.Bool().Draw(t, "other units")
	}
	p.line("%s", strings.TrimSpace("G17 G90 G94 "+units))
	p.dark()
	if p.may(Relative) && p.may(FromHere) && rapid.IntRange(0, 5).Draw(t, "from here") == 0 {
		p.rel = true // the first motion goes from where the head is said to stand
		p.line("G91")
	} else if rapid.Bool().Draw(t, "homing") {
		p.away()
	}
	p.line("G0 %s", p.xy(p.to()))
	p.feedAnew()
}

// tail writes what stands after the last figure, which may have left the beam
// on: then it does not go where only the machine knows the way.
func (p *pen) tail(lit bool) {
	t := p.t
	if lit && p.may(BurnEnds) && pick(t, "burn ends", false, true) {
		x, y := p.x, p.y
		words := p.xy(p.to())
		p.line("G1 %s%s M2", words, p.feedWord(math.Hypot(p.x-x, p.y-y)))
		return
	}
	if p.may(LastLine) && !lit && rapid.IntRange(0, 4).Draw(t, "in one line") == 0 {
		p.absolute()
		off := p.off
		if p.speaks == "power" || p.speaks == "none" {
			off = ""
		}
		p.line("%s", strings.TrimSpace(off+" G0 "+p.xy(0, 0)+" M2"))
		return
	}
	if !lit && rapid.IntRange(0, 2).Draw(t, "rises") == 0 {
		p.lift(2)
	}
	if rapid.Bool().Draw(t, "home") {
		p.absolute()
		p.line("G0 %s", p.xy(0, 0))
	}
	switch rapid.IntRange(0, 5).Draw(t, "last") {
	case 0:
		if p.may(StoredPlaces) && !lit {
			p.line("%s", pick(t, "gone", "G28", "G30 X0 Y0"))
		}
	case 1:
		if p.may(MachinePlaces) && !lit {
			p.line("G53 G0 %s0", p.axis)
		}
	}
	if rapid.Bool().Draw(t, "end") {
		p.line("%s", pick(t, "how", "M2", "M2", "M30"))
		if rapid.IntRange(0, 5).Draw(t, "percent") == 0 {
			p.raw("%")
		}
	}
}

// may reports whether a construct may be drawn.
func (p *pen) may(c Construct) bool { return !slices.Contains(p.o.Without, c) }
