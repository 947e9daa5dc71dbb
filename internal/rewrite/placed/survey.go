package placed

import (
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// survey is what one reading tells of the program of a part.
type survey struct {
	// decimals are how many its places have at most, in mm and in inches.
	decimals [2]int8
	// first is its first motion over XY, relative that it is in G91, and both that it
	// names X and Y. comesBack tells that Z has to be where it was at the beginning for the
	// part to begin.
	first     machine.Move
	moves     bool
	relative  bool
	both      bool
	comesBack bool
	end       machine.State
	// last is its last line that is no line of "%".
	last int
}

// each reads the program of a part block by block.
func each(open func() (io.ReadCloser, error), name string, cfg machine.Config, take func(b *program.Block, ip *machine.Interpreter, m *machine.Move) error) error {
	in, err := open()
	if err != nil {
		return err
	}
	defer in.Close()
	r, ip := program.NewReader(in, name), machine.New(cfg)
	var m machine.Move
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := ip.Step(b, &m); err != nil {
			return err
		}
		if err := take(b, ip, &m); err != nil {
			return err
		}
	}
}

// nonModal says what words that count on their own line only are.
var nonModal = map[machine.GCode]string{
	100: "G10 sets offsets", 280: "G28 goes to a place of the machine", 300: "G30 goes to a place of the machine", 530: "G53 goes to a place of the machine",
	920: "G92 sets an offset", 921: "G92.1 sets an offset", 922: "G92.2 sets an offset", 923: "G92.3 sets an offset",
}

const ofOnePart = "write the program of the part without it, in the coordinates of the part"

// surveyed reads the program of a part, and refuses what cannot be placed.
func (c *composer) surveyed() error {
	s := &c.survey
	ended, settled := 0, false
	return each(c.open, c.opt.Name, c.opt.Machine, func(b *program.Block, ip *machine.Interpreter, m *machine.Move) error {
		did, st := ip.Actions(), ip.During()
		if !b.Percent {
			s.last = b.Line
		}
		switch what := nonModal[did.Codes[machine.NonModal]]; {
		case ended > 0 && len(b.Words) > 0:
			return b.Unsupported(b.Words[0].Start, "behind the end of the program nothing can be placed", "leave out what stands behind its end")
		case what != "":
			return b.Unsupported(did.G[machine.NonModal].In(b).Start, what+", which is the same at every place", ofOnePart)
		case did.Codes[machine.ArcMode] == 901:
			return b.Unsupported(did.G[machine.ArcMode].In(b).Start, "G90.1, centres as places, is not placed", "write I and J from the start of the arc (G91.1)")
		case b.Checksum > 0:
			return b.Unsupported(b.Checksum, "a line with a checksum cannot stand in a program several times", "write the program without checksums, and have them put on when it is sent")
		}
		for _, r := range [...]machine.Ref{did.X, did.Y, did.I, did.J, did.R} {
			if r == 0 {
				continue
			}
			w := r.In(b)
			k := 0
			if st.Inches {
				k = 1
			}
			s.decimals[k] = max(s.decimals[k], w.Num.Trim().Dec)
		}
		if over := did.X|did.Y != 0 || m.Kind == machine.Arc; over && m.Kind != machine.Dwell && !s.moves {
			s.first, s.moves, s.relative, s.both = *m, true, st.Relative, did.X != 0 && did.Y != 0
		}
		if !settled && (m.Kind == machine.Line || m.Kind == machine.Arc) {
			settled = true
			s.comesBack = did.Z == 0 || st.Relative
		}
		if ended == 0 {
			s.end = st
		}
		if did.Ends {
			ended = b.Line
		}
		return nil
	})
}
