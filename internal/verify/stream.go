package verify

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
)

// noWord is before the first M word of a group.
const noWord = -1

// Stream gives a program step by step: M words, then the motion or dwell of
// their line, then the words that stop a program, as RS274 3.8 has them act.
// M words that repeat what is in force are left out, and so are motions that
// do not move and do not burn.
type Stream struct {
	r   *program.Reader
	cfg machine.Config
	ip  *machine.Interpreter

	blocks, last int     // how many there were, and the line of the last
	bytes        int64   // that they take
	percents     int     // how many of them are "%"
	known        [3]bool // of each axis whether it was behind the last
	// steps are those of the last block, of which the first given have been given.
	steps []Step
	given int

	// What it has done with the beam on besides burning.
	litTravels, litWaits, litEnds program.Tally
	// strokes are its moves of Z alone that burn.
	strokes program.Tally

	// text is the line of the last block, which holds until the next is read.
	text []byte
	// remark is the last comment that was read, in line remarkLine.
	remark     []byte
	remarkLine int

	// unitsSaid and distanceSaid report whether these modes were said up to its first
	// motion, which is on the line moved; 0 before.
	unitsSaid, distanceSaid bool
	moved                   int
	// worked is the line of the last word for a work offset, work that of the one in
	// force at the first motion, where it is not G54; zeroed that of a G92 or G10 before,
	// and fromHere that of the first motion over XY, where it is in G91 from a place
	// that nobody has said. They are 0 for none.
	worked, work, zeroed, fromHere int

	// halted and switched are what the next motion or dwell is told, see Step.
	halted, switched bool

	tool         int  // the number of the tool word in force, -1 before the first
	withoutBeam  bool // beam words are left out
	beam, cooler int64
}

// NewStream returns the steps of a program; its name is for messages. Of a
// rehearsal, or what one was made from, beam words are left out.
func NewStream(r io.Reader, name string, cfg machine.Config, rehearsal bool) *Stream {
	ip := machine.New(cfg)
	start := ip.State()
	return &Stream{
		r:           program.NewReader(r, name),
		cfg:         cfg,
		ip:          ip,
		known:       [3]bool{start.XKnown, start.YKnown, start.ZKnown},
		withoutBeam: rehearsal,
		tool:        -1,
		beam:        noWord,
		cooler:      noWord,
	}
}

// State is what is in force after the last block read.
func (st *Stream) State() machine.State { return st.ip.State() }

// NoteBehind notes in a result what stands behind the program's end; of names the
// program where it is not the one that is checked.
func (st *Stream) NoteBehind(r *Result, of string) {
	if line := st.r.Behind(); line > 0 {
		r.Note("%sline %d: what stands here, behind the second \"%%\", was not read: that ends the program", of, line)
	}
}

// Next fills s with the next step. At the end its kind is AtEnd, time and
// again. The error is that of a program that cannot be read.
func (st *Stream) Next(s *Step) error {
	for st.given == len(st.steps) {
		b, err := st.r.Next()
		if errors.Is(err, io.EOF) {
			now := st.State()
			*s = Step{Kind: AtEnd, Line: st.last, Beam: now.Beam, WordOff: putsOff(&now), Mist: now.Mist, Flood: now.Flood}
			if now.Beam == machine.On {
				st.litEnds = program.Tally{Count: 1, Line: st.last}
			}
			return nil
		}
		if err != nil {
			return err
		}
		st.blocks++
		st.bytes += int64(len(b.Raw))
		if b.Percent {
			st.percents++
		}
		st.last, st.text = b.Line, b.Raw
		if b.Comment >= 0 {
			st.remark, st.remarkLine = append(st.remark[:0], b.Raw[b.Comment:]...), b.Line
		}
		cur := Step{Line: b.Line}
		if err := st.ip.Step(b, &cur.M); err != nil {
			return err
		}
		st.take(b, &cur)
	}
	*s = st.steps[st.given]
	st.given++
	if s.InPlace() && s.M.Burn && s.dz() != 0 {
		st.strokes.Add(s.Line)
	}
	switch {
	case !s.Lit() || s.Ends(): // an end by its word puts the beam off (RS274 3.6.1)
	case s.Kind == Motion:
		st.litTravels.Add(s.Line)
	default:
		st.litWaits.Add(s.Line)
	}
	return nil
}

// NoteLapses notes, each kind once, what is not as RS274 has it; of names the program
// where it is not the one that is checked.
func (st *Stream) NoteLapses(r *Result, of string) {
	for kind, t := range st.r.Lapses().And(st.ip.Lapses()) {
		if t.Count > 0 {
			r.Note("%s%s", of, t.Says(program.Lapse(kind)))
		}
	}
}

// NoteFrame notes what must be true of the bench for the places that were checked.
func (st *Stream) NoteFrame(r *Result) {
	for _, t := range []struct {
		line int
		what string
	}{
		{st.work, "places were checked from the zero of the work offset that is said here"},
		{st.zeroed, "an offset is set here before anything moves: it was checked with the head where it is taken to stand (--start, --start-z)"},
		{st.fromHere, "it begins in G91 from a place that was not said: it was checked from X0 Y0 (--start)"},
	} {
		if t.line > 0 {
			r.Frame = append(r.Frame, fmt.Sprintf("line %d: %s", t.line, t.what))
		}
	}
	r.Notes = append(r.Notes, r.Frame...)
}

// putsOff reports whether the beam's word in force is one that puts it off.
func putsOff(now *machine.State) bool { return now.BeamWord != machine.NoBeam && !now.BeamLit }

// NoteLit notes, each kind once, what the program, which is called so, has done with the
// beam on besides burning.
func (st *Stream) NoteLit(r *Result, of string) {
	for _, t := range []struct {
		program.Tally
		what string
	}{{st.litTravels, "travels"}, {st.litWaits, "waits"}} {
		if t.Count > 0 {
			r.Note("%s itself %s with the beam on, %s in all, first on its line %d", of, t.what, phrase.Count(t.Count, "time"), t.Line)
		}
	}
	if st.litEnds.Count > 0 {
		r.Note("%s itself ends with the beam on, at its line %d", of, st.litEnds.Line)
	}
	if t := st.strokes; t.Count > 0 {
		r.Note("%s itself moves Z alone with the beam on, %s in all, first on its line %d: marks or plunges in place", of, phrase.Count(t.Count, "time"), t.Line)
	}
}

// take takes the steps of a block, whose motion or dwell is c.
func (st *Stream) take(b *program.Block, c *Step) {
	did, now, before := st.ip.Actions(), st.ip.State(), st.known
	st.known = [3]bool{now.XKnown, now.YKnown, now.ZKnown}
	c.Known, c.FindsZ = now.XKnown && now.YKnown && now.ZKnown, now.ZKnown && !before[2]
	during := now
	if did.Ends {
		during = st.ip.During()
	}
	c.Beam, c.WordOff, c.Inches, c.Inverse, c.Mist, c.Flood = during.Beam, putsOff(&during), during.Inches, during.InverseTime, during.Mist, during.Flood
	c.Work, c.Path, c.PathP = max(during.Work, defaultWork), during.Path, during.PathP.Float()
	if during.PathInches {
		c.PathP *= mmPerInch
	}
	if did.G[machine.WorkOffset] != 0 {
		st.worked = b.Line
	}
	if code := did.Codes[machine.NonModal]; st.moved == 0 && st.zeroed == 0 && (code == 920 || code == storesOffsets) {
		st.zeroed = b.Line
	}
	if st.moved == 0 {
		st.unitsSaid = st.unitsSaid || did.Codes[machine.Units] != 0
		st.distanceSaid = st.distanceSaid || did.Codes[machine.Distance] != 0
	}
	counts := false
	switch m := &c.M; m.Kind {
	case machine.Dwell:
		c.Kind, counts = Dwell, true
	case machine.Line, machine.Arc:
		c.Kind = Motion
		c.OverXY = m.Length > 0 || now.XKnown != before[0] || now.YKnown != before[1] ||
			m.Lost&(machine.AxisX|machine.AxisY) != 0
		if st.moved == 0 {
			st.moved = b.Line
			if c.Work != defaultWork {
				st.work = st.worked
			}
		}
		if during.Relative && m.Lost == 0 && !before[0] && !before[1] && now.XKnown && now.YKnown && st.fromHere == 0 {
			st.fromHere = b.Line
		}
		counts = c.OverXY || m.Burn || c.dz() != 0 || m.Lost != 0 || c.FindsZ
	}
	st.steps, st.given = st.steps[:0], 0
	st.others(b, c, &did)
	st.words(b, c, &did, false)
	st.switched = st.switched || did.Beam != 0 && !st.withoutBeam
	if counts {
		c.Halted, c.Switched, c.Unplaced = st.halted, st.switched, c.M.FromUnknown
		st.halted, st.switched = false, false
		st.steps = append(st.steps, *c)
	}
	st.halted = st.halted || did.Stop != 0
	st.words(b, c, &did, true)
}

// defaultWork is G54, the work offset before one is said (RS274 3.6.1).
const defaultWork = 540

// others takes what a block says beside its M words that acts on more than its moves.
func (st *Stream) others(b *program.Block, c *Step, did *machine.Actions) {
	said := ""
	if len(b.Words) == 0 {
		if text := bytes.TrimSpace(b.Body()); len(text) > 0 && text[0] == '$' {
			said = string(text)
		}
	}
	stores := did.Codes[machine.NonModal] == storesOffsets
	for i := range b.Words {
		if w := &b.Words[i]; stores && w.Letter != 'N' || w.Letter == 'T' {
			if w.Letter == 'T' {
				st.tool = int(w.Num.Float())
			}
			said += string(w.Letter) + w.Num.Trim().String()
		}
	}
	c.Tool = st.tool
	if said != "" {
		s := Step{Kind: Word, Line: b.Line, Word: noWord, Said: said, Optional: b.Optional, Beam: c.Beam, WordOff: c.WordOff, Mist: c.Mist, Flood: c.Flood}
		s.M.From, s.M.To = c.M.From, c.M.From
		st.steps = append(st.steps, s)
	}
}

// storesOffsets is G10.
const storesOffsets = 100

// words takes the M words of a block that count: those that stop, or the others.
func (st *Stream) words(b *program.Block, c *Step, did *machine.Actions, stop bool) {
	for at := range b.Words {
		w := &b.Words[at]
		if w.Letter != 'M' || did.Stop.Set().Has(at) != stop {
			continue
		}
		n, _ := w.Num.At(0)
		m := n.Mant
		if !b.Optional {
			switch {
			case did.Beam.Set().Has(at):
				if st.withoutBeam || m == st.beam {
					continue
				}
				st.beam = m
			case did.Coolant.Has(at):
				if m == st.cooler {
					continue
				}
				st.cooler = m
			case stop && did.Ends:
				// M2 and M30 stop beam and coolant (RS274 3.7.3).
				st.beam, st.cooler = noWord, noWord
			}
		}
		s := Step{Kind: Word, Line: b.Line, Word: m, Optional: b.Optional, Stops: stop, Beam: c.Beam, WordOff: c.WordOff,
			Inches: c.Inches, OfBeam: did.Beam.Set().Has(at), OfAir: did.Coolant.Has(at), Mist: c.Mist, Flood: c.Flood}
		s.M.From, s.M.To, s.M.Power, s.M.PowerFollows = c.M.To, c.M.To, c.M.Power, c.M.PowerFollows
		st.steps = append(st.steps, s)
	}
}
