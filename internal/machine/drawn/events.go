package drawn

import (
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// Event is a travel, a wait or an end of a program, and what was said of the beam by
// then. It is read off the text: by Events, and by nothing that the tool has for it.
type Event struct {
	Kind EventKind
	Line int
	// Before is the line before it, as a comment that says what a wait is for.
	Before string
	// From and To are its ends, the same of what does not move, as far as they are known.
	From, To machine.Point
	// Lit: the beam can fire. Off: a word that puts it off is in force.
	Lit, Off bool
	// Burns: a burn stands on the same line.
	Burns bool
}

// EventKind is a kind of event.
type EventKind uint8

// The kinds: Ended is a word that ends the program, OpenEnd the end of a text that has
// none behind its last motion.
const (
	Travel EventKind = iota
	Wait
	Ended
	OpenEnd
)

var (
	remarks = regexp.MustCompile(`\([^)]*\)|;.*|\*[0-9]+\s*$`)
	aWord   = regexp.MustCompile(`([A-Z])([-+]?[0-9]*\.?[0-9]*)`)
)

// beamText is what was said of the beam: its word, off, on or none yet, and a power.
type beamText struct {
	word, power int
	said        bool
	ends, waits bool // of the line
}

const (
	noWord = iota
	offWord
	onWord
)

func (b *beamText) lit() bool {
	return b.word == onWord && (!b.said || b.power > 0) || b.word == noWord && b.said && b.power > 0
}

// read takes a line.
func (b *beamText) read(line string, c *machine.Config) {
	b.ends, b.waits = false, false
	line = strings.ToUpper(strings.Join(strings.Fields(remarks.ReplaceAllString(line, "")), ""))
	if line == "" || strings.ContainsAny(line[:1], "%$O:") || strings.Contains(line, "M117") {
		return
	}
	for _, w := range aWord.FindAllStringSubmatch(line, -1) {
		v, _ := strconv.ParseFloat(w[2], 64)
		switch n := int(v); {
		case w[1] == string(c.PowerWord):
			b.said, b.power = true, n
		case w[1] != "M":
		case slices.Contains(c.BeamOn, n):
			b.word = onWord
		case slices.Contains(c.BeamOff, n):
			b.word = offWord
		case n == 0 || n == 1 || n == 6 || n == 60:
			b.waits = true
		case n == 2 || n == 30:
			b.ends = true
		}
	}
}

// Events gives the travels, waits and ends of a program, in order.
func Events(text string, c machine.Config) ([]Event, error) {
	var list []Event
	var beam beamText
	ip, r := machine.New(c), program.NewReader(strings.NewReader(text), "x")
	lines, ended := strings.Split(text, "\n"), true
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			if !ended {
				list = append(list, Event{Kind: OpenEnd, Line: len(lines), From: ip.State().At, To: ip.State().At, Lit: beam.lit(), Off: beam.word == offWord})
			}
			return list, nil
		}
		var m machine.Move
		if err == nil {
			err = ip.Step(b, &m)
		}
		if err != nil {
			return nil, fmt.Errorf("%w in\n%s", err, text)
		}
		beam.read(lines[b.Line-1], &c)
		e := Event{Line: b.Line, From: m.From, To: m.To, Lit: beam.lit(), Off: beam.word == offWord, Burns: m.Burn}
		if b.Line > 1 {
			e.Before = lines[b.Line-2]
		}
		moves := m.Kind == machine.Line || m.Kind == machine.Arc
		if moves && (m.Lost != 0 || m.Rapid && !(c.RapidsFire && e.Lit)) && (m.Length > 0 || m.From.Z != m.To.Z || m.FromUnknown || m.Lost != 0) {
			list = append(list, e)
		}
		ended = ended && !moves && beam.word != onWord
		e.From = e.To
		if beam.waits {
			e.Kind = Wait
			list = append(list, e)
		}
		if beam.ends {
			e.Kind = Ended
			list = append(list, e)
			beam.word, ended = offWord, true
		}
	}
}

// LeaveLit takes lines out of a program that do nothing but put the beam off, some or
// all, so that it travels, waits and ends with the beam on.
func LeaveLit(t *rapid.T, text string, c machine.Config) string {
	lines := strings.SplitAfter(text, "\n")
	return strings.Join(slices.DeleteFunc(lines, func(line string) bool {
		was := beamText{word: onWord, power: 1, said: true}
		now := was
		now.read(line, &c)
		return now != was && !now.lit() && now.word != noWord && !strings.ContainsAny(remarks.ReplaceAllString(line, ""), "XYZUVWAGFxyzuvwagf") &&
			!now.ends && rapid.Bool().Draw(t, "leave lit")
	}), "")
}

// Excess says which travel, wait or end of a program has the beam on that its original
// has not at that place, "" if none; and which wait that was put in for the reasons
// given in the comments before has another beam word in force than one that puts it off.
func Excess(of, original []Event, reasons *regexp.Regexp) string {
	for _, e := range of {
		added := e.Kind == Wait && reasons.MatchString(e.Before)
		switch {
		case added && (e.Lit || !e.Off):
			return fmt.Sprintf("line %d: a wait was put in where the beam is not off by its word", e.Line)
		case e.Lit && !slices.ContainsFunc(original, func(o Event) bool {
			return o.Lit && (o.Kind == e.Kind || e.Kind == OpenEnd && o.Kind == Ended) && (e.Kind >= Ended || o.passes(e.From) && o.passes(e.To))
		}):
			return fmt.Sprintf("line %d: the beam is on in %+v, where the original has it off", e.Line, e)
		}
	}
	return ""
}

// passes reports whether the event's way leads by a place, over XY.
func (e *Event) passes(p machine.Point) bool {
	const tolerance = 0.01
	dx, dy := e.To.X-e.From.X, e.To.Y-e.From.Y
	s := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		s = max(0, min(1, ((p.X-e.From.X)*dx+(p.Y-e.From.Y)*dy)/l))
	}
	return math.Hypot(e.From.X+s*dx-p.X, e.From.Y+s*dy-p.Y) < tolerance
}
