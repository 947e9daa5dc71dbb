package probe

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
)

// Bench is what the program is written for.
type Bench struct {
	Inches    bool
	Decimals  int  // of written lengths
	ZAxis     byte // the letter
	Sigma     float64
	BeamOff   int // M word that puts the beam off
	PowerWord byte
	OffsetMM  [3]float64 // of the touch tool from the beam
	FeedMMMin float64
	DepthMM   float64 // how far below the datum a touch may reach
	ClearMM   float64 // over the datum, between touches
	Comments  bool
	Made      string // who made it, for the first comment
}

// slowPart is the part of the probe's feed that the datum is touched with:
// everything counts from it.
const slowPart = 0.25

// Write writes the touch-probing program. Z is 0 where the tool touches the
// datum; the operator sets it so.
func (p *Plan) Write(w io.Writer, b *Bench) error {
	out := bufio.NewWriter(w)
	comment := func(format string, args ...any) {
		if b.Comments {
			fmt.Fprintf(out, "("+format+")\n", args...)
		}
	}
	x := func(k int) string { return b.length(p.Places[k][0] - b.OffsetMM[0]) }
	y := func(k int) string { return b.length(p.Places[k][1] - b.OffsetMM[1]) }
	up := string(b.ZAxis) + b.length(b.Sigma*b.ClearMM)
	down := string(b.ZAxis) + b.length(-b.Sigma*b.DepthMM)
	touch := func(k int, part float64) {
		fmt.Fprintf(out, "G0 X%s Y%s\n", x(k), y(k))
		fmt.Fprintf(out, "G38.2 %s F%s\nG0 %s\n", down, b.feed(b.FeedMMMin*part), up)
	}
	comment("%s", b.Made)
	comment("touches %d places from X%.3f Y%.3f to X%.3f Y%.3f mm, datum X%.3f Y%.3f, first and last", len(p.Places),
		p.X[0], p.Y[0], p.X[len(p.X)-1], p.Y[len(p.Y)-1], p.Places[0][0], p.Places[0][1])
	comment("set %c to 0 where the touch tool meets the datum; between touches it is at %g mm over it", b.ZAxis, b.ClearMM)
	if o := b.OffsetMM; o != [3]float64{} {
		comment("probe_offset_mm: the touch tool sits at X%g Y%g Z%g from the beam; places logged are those of the beam", o[0], o[1], o[2])
		comment("give --shift %g,%g to the command that makes the surface", o[0], o[1])
	}
	unit := "G21"
	if b.Inches {
		unit = "G20"
	}
	fmt.Fprintf(out, "M%d\n%s G90 G94\n", b.BeamOff, unit)
	if b.PowerWord != 0 {
		fmt.Fprintf(out, "%c0\n", b.PowerWord)
	}
	fmt.Fprintf(out, "G0 %s\n", up)
	for k := range p.Places {
		part := 1.0
		if k == 0 {
			part = slowPart
		}
		touch(k, part)
	}
	comment("the datum again: drift shows")
	touch(0, slowPart)
	out.WriteString("M2\n")
	return out.Flush()
}

func (b *Bench) length(mm float64) string {
	if b.Inches {
		mm /= 25.4
	}
	p := math.Pow10(b.Decimals)
	v := math.Round(mm*p) / p
	return strconv.FormatFloat(v+0, 'f', -1, 64)
}

func (b *Bench) feed(mm float64) string {
	if b.Inches {
		mm /= 25.4
	}
	return strconv.FormatFloat(math.Round(mm*100)/100, 'f', -1, 64)
}

// Seconds estimates how long touching takes, for a surface near the datum.
func (p *Plan) Seconds(b *Bench, rapid float64) float64 {
	n := float64(len(p.Places) + 1)
	return 60 * (n*b.ClearMM/b.FeedMMMin + 2*b.ClearMM/(slowPart*b.FeedMMMin) + (p.Travel()+n*b.ClearMM)/rapid)
}
