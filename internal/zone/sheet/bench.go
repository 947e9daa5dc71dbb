package sheet

import (
	"bufio"
	"fmt"
	"math"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
)

// writeBench writes what the operator needs at the bench, as text to print.
func (s *Set) writeBench(w *bufio.Writer) error {
	say := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format+"\n", args...) } // the writer keeps its error
	say("FOCUS ZONES OF %s", s.Name)
	say("")
	if len(s.Zones) == 1 {
		say("1 zone: %d burns, %.1f mm, over heights from %.3f to %.3f mm.", s.Burns, s.BurnLength, s.Low, s.High)
	} else {
		say("%d zones: %d burns, %.1f mm, over heights from %.3f to %.3f mm. %d burns are cut, in %d places.",
			len(s.Zones), s.Burns, s.BurnLength, s.Low, s.High, s.CutBurns, s.Cuts)
	}
	say("Places are X, Y of the program in mm; heights and focus are mm over the datum, plus is nearer the lens.")
	s.benchHow(say)
	lens := -1
	for i := range s.Zones {
		z := &s.Zones[i]
		if z.Lens != lens {
			lens = z.Lens
			l := &s.Lenses[lens]
			say("")
			if s.Followed {
				say("LENS %s: usable from %.3f mm nearer to %.3f mm further; %d of the zones.", l.Name, l.Usable.Near, l.Usable.Far, l.Zones)
			} else {
				say("LENS %s: usable from %.3f mm nearer to %.3f mm further; %d of the zones, and none fewer would do:", l.Name, l.Usable.Near, l.Usable.Far, l.Zones)
				say("  heights %s are burned, and are %.3f mm apart or more.", list(l.Lows), l.SpacingMM)
			}
		}
		say("")
		s.benchZone(z, say)
	}
	say("")
	say("CAUTION: wear eye protection made for the wavelength, and beware of stock that reflects. Extract the fumes, and")
	say("know what the stock gives off. Keep an extinguisher at hand, rehearse with the beam off, keep clear of moving")
	say("axes, and never leave a burning machine unattended. Local rules and licensed practice come first.")
	return nil
}

// benchHow says how the programs are to be used.
func (s *Set) benchHow(say func(string, ...any)) {
	say("")
	switch {
	case s.Paused && s.SetZ:
		say("One program for all: it goes to each focus point, beam off, and waits. Z is written; where the lens changes,")
		say("set the focus again at the datum.")
	case s.Paused:
		say("One program for all: it goes to each focus point, beam off, and waits at Z%.4g. Set the focus on the stock there", s.BurnZ)
		say("without changing what the controller counts as Z, and let it go on.")
	case s.SetZ:
		say("The programs write Z themselves. Set the focus at the datum with the lens that is named, once for each lens.")
	case s.Followed:
		say("The programs follow the surface within their zones: Z moves while they burn. Before each program set the focus")
		say("on the stock at its focus point, at the Z that the program burns at, with the lens that is named. Do not move")
		say("the stock between programs.")
	default:
		say("Before each program set the focus on the stock at its focus point, at Z%.4g, with the lens that is named. Do not", s.BurnZ)
		say("move the stock between programs.")
	}
	if s.Rehearsal {
		say("These are rehearsals: the beam stays off.")
	}
	if s.Overlap > 0 {
		say("Seams overlap by up to %.3g mm.", s.Overlap)
	}
}

// benchZone writes the part of one zone.
func (s *Set) benchZone(z *Zone, say func(string, ...any)) {
	say("[ ] %d  %s", z.Order, z.Program)
	l := &s.Lenses[z.Lens]
	say("      lens         %s", l.Name)
	at := fmt.Sprintf("X%.3f Y%.3f", z.Point.X, z.Point.Y)
	if z.Point.FromMarks < setup.ClearOfMarks {
		at += fmt.Sprintf(", %.1f mm from the nearest burn", z.Point.FromMarks)
	}
	say("      focus point  %s", at)
	off := z.Focus - z.Point.Height
	if math.Abs(off) > setup.PointTolerance {
		say("                   the stock is %.3f mm high there: set the focus, then move the lens %.3f mm %s", z.Point.Height, math.Abs(off), way(off))
	}
	say("      from datum   %+.3f mm%s", z.Focus, s.crank(z.Focus))
	if z.Stop > 0 {
		say("      waits        on line %d", z.FocusStop)
	}
	say("      serves       heights from %.3f to %.3f mm", z.Band.Lo, z.Band.Hi)
	say("      burns        %d, %.1f mm, in %d pieces; %s", z.Burns, z.BurnLength, z.Pieces, phrase.Clock(z.Seconds))
	say("      extent       X%.3f to %.3f, Y%.3f to %.3f", z.Bound.Min[0], z.Bound.Max[0], z.Bound.Min[1], z.Bound.Max[1])
	if n := len(z.Raised); n > 0 {
		say("      note         it waits %d times for the lens to be raised by up to %s mm, and to be brought back", n, phrase.Up(z.Raise, 2))
	}
	if z.Lift > 0 {
		say("      note         travels at its start or end are lifted by %.3f mm to be clear of the stock", z.Lift)
	}
}

func way(off float64) string {
	if off > 0 {
		return "away from the stock"
	}
	return "nearer to the stock"
}

// crank says a focus in whole divisions of the hand crank, and what is left.
func (s *Set) crank(f float64) string {
	c := s.CrankMM
	if c <= 0 {
		return ""
	}
	n := math.Round(f / c)
	text := fmt.Sprintf(", %+.0f divisions of the crank", n)
	if rest := f - n*c; math.Abs(rest) > setup.PointTolerance/10 {
		text += fmt.Sprintf(" and %+.3f mm", rest)
	}
	return text
}

// list spells heights, the first and the last of many.
func list(v []float64) string {
	const most = 6
	var text []string
	for _, h := range v {
		text = append(text, fmt.Sprintf("%.3f", h))
	}
	if last := len(v) - 1; last >= most {
		text = append(text[:most-1], "... "+text[last])
	}
	return strings.Join(text, ", ")
}
