package placed

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// Options say what is written, and for which bench.
type Options struct {
	// Name is that of the part's program in messages, Machine how blocks become moves.
	Name    string
	Machine machine.Config
	// ZPlusAway tells that +Z takes the lens from the stock.
	ZPlusAway bool
	// DecimalsMM and DecimalsInch are those of written places, where the program has no more.
	DecimalsMM, DecimalsInch int
	// Comments allows the comment before each part; Of is how many places there are.
	Comments bool
	Of       int
	// LineMax is the most characters of a line; 0 is no limit.
	LineMax int
}

// Decimals are those of the places written for a list of places, in mm or in inches: one
// more than else where a part is turned by no quarter, so that arcs stay arcs.
func (c *composer) decimals(inches bool) int8 {
	k, least := 0, c.opt.DecimalsMM
	if inches {
		k, least = 1, c.opt.DecimalsInch
	}
	dec := max(c.survey.decimals[k], int8(least))
	if c.turn.quarters < 0 {
		dec++
	}
	return min(dec, mostDecimals)
}

// mostDecimals is how many a place is written with at most: package machine keeps no more
// of a mm.
const mostDecimals = 9

// composer writes.
type composer struct {
	open   func() (io.ReadCloser, error)
	opt    *Options
	survey survey
	turn   turn
	out    bytes.Buffer
	w      io.Writer
	lines  int
	// at is where the head stands in what was written, on the axes that are known.
	at      [2]int64
	known   [2]bool
	changes []program.Change
	line    []byte
}

// Part is where a part is in what was written: it begins with Line, and its program's own
// lines from First to Last stand one by one from Body on.
type Part struct {
	Place
	Line              int
	First, Last, Body int
}

// Compose writes the program of all places, part after part, in the order of the list. The
// errors of the program are *diag.Error with its line and column.
func Compose(open func() (io.ReadCloser, error), w io.Writer, places []Place, opt Options) ([]Part, error) {
	c := &composer{open: open, opt: &opt, w: w}
	c.turn = turnOf(&places[0])
	alone := len(places) == 1 && c.turn.still()
	if !alone {
		if err := c.surveyed(); err != nil {
			return nil, err
		}
	}
	var parts []Part
	for k := range places {
		c.turn = turnOf(&places[k])
		parts = append(parts, Part{Place: places[k]})
		if err := c.part(&parts[k], k == 0, k == len(places)-1, alone); err != nil {
			return nil, err
		}
	}
	return parts, c.flush()
}

// ended stops the reading of a part that is not the last.
type ended struct{}

func (ended) Error() string { return "ended" }

// part writes the program for one place.
func (c *composer) part(p *Part, first, last, alone bool) error {
	began := false
	var like program.Block
	err := each(c.open, c.opt.Name, c.opt.Machine, func(b *program.Block, ip *machine.Interpreter, m *machine.Move) error {
		if begins := b.Percent || numbered(b); !began && begins {
			if first {
				c.put(b.Raw, b)
			}
			return nil
		}
		if !began {
			began = true
			p.Line = c.lines + 1
			if err := c.begin(p, b, first || alone); err != nil {
				return err
			}
			p.First, p.Body = b.Line, c.lines+1
		}
		if alone {
			c.put(b.Raw, b)
			return nil
		}
		if b.Percent && !last {
			return nil
		}
		b.CopyTo(&like)
		did := ip.Actions()
		c.changes = c.changes[:0]
		if err := c.place(b, &did, ip.During(), m); err != nil {
			return err
		}
		if did.Ends && !last {
			if c.changes = append(c.changes, program.DropWord(int(did.Stop)-1)); len(b.Words) > 1 && !(len(b.Words) == 2 && b.Words[0].Letter == 'N') {
				if err := c.edit(b); err != nil {
					return err
				}
			}
			return ended{}
		}
		return c.edit(b)
	})
	if err != nil && err != error(ended{}) {
		return err
	}
	p.Last = p.First + c.lines - p.Body
	if !last && began {
		c.end(&like)
	}
	return c.err()
}

// numbered reports whether a line is the number of the program.
func numbered(b *program.Block) bool {
	text := bytes.TrimSpace(b.Body())
	return len(b.Words) == 0 && len(text) > 0 && bytes.IndexByte([]byte("Oo:"), text[0]) >= 0
}

// put writes a line as it is.
func (c *composer) put(line []byte, like *program.Block) {
	if n := c.out.Len(); n > 0 && c.out.Bytes()[n-1] != '\n' {
		c.out.WriteString(like.NewEOL())
	}
	c.out.Write(line)
	c.lines++
}

// edit writes a block with the changes gathered.
func (c *composer) edit(b *program.Block) error {
	c.line = program.AppendChanged(c.line[:0], b, c.changes)
	if n := len(bytes.TrimRight(c.line, "\r\n")); c.opt.LineMax > 0 && n > c.opt.LineMax && len(c.changes) > 0 {
		return b.Unsupported(0, fmt.Sprintf("placed, this line has %d characters, more than the controller takes (line_max)", n), "write it as two lines")
	}
	c.put(c.line, b)
	return nil
}

// say writes a line of these words.
func (c *composer) say(like *program.Block, words ...program.Change) {
	if len(words) > 0 {
		c.put(program.AppendBlock(nil, like, words), like)
	}
}

func word(letter byte, n program.Number) program.Change {
	return program.Change{Letter: letter, Num: n}
}

func (c *composer) flush() error {
	_, err := c.w.Write(c.out.Bytes())
	c.out.Reset()
	return err
}

// gathered is how much is written at a time.
const gathered = 1 << 18

// err writes what was gathered, where that is much; the last line stays, for it may have
// no end yet.
func (c *composer) err() error {
	if c.out.Len() < gathered {
		return nil
	}
	n := bytes.LastIndexByte(c.out.Bytes(), '\n')
	if n < 0 {
		return nil
	}
	_, err := c.w.Write(c.out.Next(n))
	return err
}

// end puts off behind a part what its own end would have put off.
func (c *composer) end(like *program.Block) {
	switch st := &c.survey.end; {
	case st.BeamLit:
		c.say(like, word('M', program.Int(int64(c.opt.Machine.BeamOff[0]))))
	case st.Beam == machine.On: // by its power alone: a beam word would keep it off for good
		c.say(like, word(c.opt.Machine.PowerWord, program.Int(0)))
	}
	if st := &c.survey.end; st.Mist || st.Flood {
		c.say(like, word('M', program.Int(9)))
	}
}

// begin writes what stands before a part: its comment and, behind another, what brings
// modes, height and place back to what the program begins with.
func (c *composer) begin(p *Part, like *program.Block, first bool) error {
	if c.opt.Comments {
		text := fmt.Sprintf("part %d of %d, place %s", p.Number, c.opt.Of, p.Says)
		c.put(program.AppendComment(nil, like, text), like)
	}
	cfg, end := &c.opt.Machine, &c.survey.end
	if !first {
		var words []program.Change
		for _, g := range []struct {
			differs bool
			say     int64
		}{{end.Inches != cfg.Inches, map[bool]int64{true: 20, false: 21}[cfg.Inches]}, {end.Relative, 90}, {end.InverseTime, 94}} {
			if g.differs {
				words = append(words, word('G', program.Int(g.say)))
			}
		}
		c.say(like, words...)
	}
	if !c.survey.moves {
		return nil
	}
	return c.come(like, first)
}

// come brings the head to where the part begins: its Z, where the program counts on that
// of its beginning, and its place, where its first motion does not say it by itself.
func (c *composer) come(like *program.Block, first bool) error {
	cfg, s := &c.opt.Machine, &c.survey
	start := s.first.From // of what is not known yet it has the start that is assumed
	starts := s.relative || cfg.StartXYKnown && !s.both || s.first.Burn
	target := start
	if !starts && s.both {
		target = s.first.To
	}
	x, y := c.turn.point(target)
	here := c.known[0] && c.known[1] && c.grid(c.at[0], x) && c.grid(c.at[1], y)
	if first && starts {
		// The head stands where the first part begins, unless that is placed elsewhere.
		here = c.turn.still()
		if !here && (s.relative || cfg.StartXYKnown) {
			c.at, c.known = [2]int64{units(start.X), units(start.Y)}, [2]bool{true, true}
		}
	}
	var z []program.Change
	nearer := false
	if off := s.end.At.Z - cfg.Start.Z; !first && off != 0 && s.comesBack {
		num := program.Round(cfg.Start.Z/c.unit(cfg.Inches), max(c.decimals(cfg.Inches), 6))
		z = []program.Change{word('G', program.Int(0)), word(cfg.ZAxis, num)}
		nearer = off < 0 == c.opt.ZPlusAway
	}
	going := !here && (starts || z != nil && s.both)
	if going && first && s.end.Work != 0 {
		c.say(like, word('G', s.end.Work.Number())) // which no motion may come before
	}
	if z != nil && nearer {
		c.say(like, z...)
		z = nil
	}
	if going {
		if first && cfg.RapidsFire {
			c.say(like, word('M', program.Int(int64(cfg.BeamOff[0]))))
		}
		nx, ny := c.number(x, cfg.Inches), c.number(y, cfg.Inches)
		c.say(like, word('G', program.Int(0)), word('X', nx), word('Y', ny))
		c.at, c.known = [2]int64{c.rounded(x, cfg.Inches), c.rounded(y, cfg.Inches)}, [2]bool{true, true}
	} else if here && starts {
		c.at, c.known = [2]int64{x, y}, [2]bool{true, true}
	}
	if z != nil {
		c.say(like, z...)
	}
	return nil
}

// grid reports whether two places are written alike.
func (c *composer) grid(a, b int64) bool {
	return c.rounded(a, c.opt.Machine.Inches) == c.rounded(b, c.opt.Machine.Inches)
}

func (c *composer) unit(inches bool) float64 {
	if inches {
		return 25.4
	}
	return 1
}

// step is the last decimal of a written place.
func (c *composer) step(inches bool) int64 {
	return int64(math.Round(c.unit(inches) * unitsPerMM / math.Pow10(int(c.decimals(inches)))))
}

// rounded is a place as it is written.
func (c *composer) rounded(v int64, inches bool) int64 {
	step := c.step(inches)
	return int64(math.RoundToEven(float64(v)/float64(step))) * step
}

// number is a place, or the way to it, as it is written.
func (c *composer) number(v int64, inches bool) program.Number {
	return program.Number{Mant: c.rounded(v, inches) / c.step(inches), Dec: c.decimals(inches)}
}

// set notes a change of the word of an axis, where it is one; in takes it in where the block
// has none.
func (c *composer) set(b *program.Block, letter byte, n program.Number) {
	if i := slices.IndexFunc(b.Words, func(w program.Word) bool { return w.Letter == letter }); i >= 0 {
		if b.Words[i].Num.Cmp(n) != 0 {
			c.changes = append(c.changes, program.SetWord(i, n))
		}
		return
	}
	c.changes = append(c.changes, word(letter, n))
}
