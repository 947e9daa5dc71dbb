package zone

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// frame is what all programs have in common: the original's lines before the
// beam is first put on (the head), those from there to the first burn (the
// lead), of which others than the first zone only get what is no motion, and
// those after the last burn (the tail).
type frame struct {
	s                *splitter
	head, lead, tail spool
	// words are the comments and words of the lead.
	words spool
	// begin is in force before the head, end after it.
	begin, end modal
	inLead     bool
	// headHigh and leadHigh are the highest that their travels pass, as
	// splitter.between has it; tailHigh that of the tail's, but for its
	// first over XY, which goes to first and passes firstLow.
	headHigh, leadHigh, tailHigh float64
	first                        *machine.Point
	firstZ                       float64
	headSeconds, tailSeconds     float64
	// tailEnd is where the tail leaves the head, as programmed; nil where it
	// does not move it.
	tailEnd *machine.Point
	// relies tells that a motion of the tail takes its motion mode or its
	// feed from before it; moved and fed, that it has said them.
	relies, moved, fed bool
}

func (f *frame) init(s *splitter) {
	low := math.Inf(-1)
	*f = frame{s: s, headHigh: low, leadHigh: low, tailHigh: low}
	for _, sp := range []*spool{&f.head, &f.lead, &f.tail, &f.words} {
		sp.dir = s.dir
	}
	t := newTracker(s.opt.Machine, machine.New(s.opt.Machine).State())
	f.begin = t.m
	f.end = t.m
}

// headItem takes an item before the first burn.
func (f *frame) headItem(b *batch, i int) {
	s := f.s
	it := &b.items[i]
	if !f.inLead {
		m := s.after(b, i)
		if it.held >= 0 && lights(&s.opt.Machine, &b.blocks[it.held].block) || m.on() && (m.beam != noBeam || m.powerSaid) {
			f.inLead = true
			f.end = s.before(b, i)
		}
	}
	z0, z1 := s.heightsZ(b, it)
	high := math.Inf(-1)
	if it.is(isMotion) {
		high = passes(it, z0, z1)
	}
	text := b.text[b.start(i):it.end]
	if !f.inLead {
		f.end = s.after(b, i)
		f.headHigh = max(f.headHigh, high)
		f.headSeconds += it.sec
		_, _ = f.head.Write(text)
		return
	}
	f.leadHigh = max(f.leadHigh, high)
	_, _ = f.lead.Write(text)
	if it.held < 0 {
		return
	}
	h := &b.blocks[it.held]
	if len(h.block.Words) == 0 {
		_, _ = f.words.Write(text)
		return
	}
	var ch []program.Change
	o := s.outs[0]
	for k := range h.block.Words {
		if w := &h.block.Words[k]; w.Letter == 'M' && !o.restored(w.Num) {
			ch = append(ch, program.Change{Letter: 'M', Num: w.Num})
		}
	}
	if len(ch) > 0 {
		_, _ = f.words.Write(program.AppendBlock(nil, &h.block, ch))
	}
}

// saysPlace tells whether the block says where to go over XY.
func saysPlace(b *program.Block) bool {
	_, x := b.Find('X')
	_, y := b.Find('Y')
	return x || y
}

// lift is by how much a part of the frame must be lifted in a zone to be
// clear, its travels passing high; zref is as splitter.zref has it.
func (o *out) lift(high, zref float64) float64 {
	by := high - o.near() - o.set - o.sigma()*o.off + zref
	if by <= rounding {
		return 0
	}
	if o.opt.ByHand {
		return by
	}
	q := math.Pow10(int(min(o.opt.DecimalsMM, o.opt.DecimalsInch)))
	by = math.Ceil(by*q) / q
	o.z.Lift = max(o.z.Lift, by)
	return by
}

// start writes head and lead as they are, before the program's first burn, if
// that serves the zone; m is in force before that burn.
func (f *frame) start(o *out, m *modal) bool {
	zref := o.sigma() * m.at.Z
	clear := func(high float64) bool { return high-o.near()-o.set+zref <= rounding }
	if o.opt.Pause || o.off != 0 || !clear(f.headHigh) || !clear(f.leadHigh) {
		return false
	}
	o.begun = true
	o.z.Seconds += f.headSeconds
	if !o.opt.Rehearsal {
		f.copy(o, &f.head)
		f.copy(o, &f.lead)
		return true
	}
	o.mark(f.likeOf(&f.head))
	ip := f.prime(f.begin)
	f.shift(o, &f.head, ip, 0, true, nil)
	f.shift(o, &f.lead, ip, 0, true, nil)
	return true
}

// open begins the zone's program with the head; m is in force before the
// zone's first burn.
func (f *frame) open(o *out, m *modal) {
	o.begun = true
	if o.opt.Pause {
		o.m = f.stop(o, m)
		o.marked, o.dark = true, true
		return
	}
	o.z.Seconds += f.headSeconds
	f.writeHead(o, o.sigma()*m.at.Z)
}

func (f *frame) writeHead(o *out, zref float64) {
	lift := o.lift(f.headHigh, zref)
	o.m = f.end
	if o.opt.ByHand && lift > 0 {
		like := f.likeOf(&f.head)
		o.handRaise(lift, like)
		defer o.handLower(like)
		lift = 0
	}
	off := o.off + o.sigma()*lift
	switch {
	case off == 0 && !o.opt.Rehearsal:
		f.copy(o, &f.head)
	default:
		if o.opt.Rehearsal {
			o.mark(f.likeOf(&f.head))
		}
		if f.shift(o, &f.head, f.prime(f.begin), off, off == 0, nil) {
			o.m.at.Z += off
		}
	}
	if o.opt.Rehearsal {
		o.m.beam, o.m.lit = o.offWord().Mant, false
	}
	if !f.words.empty() {
		o.mark(f.likeOf(&f.words))
		f.copy(o, &f.words)
	}
}

// stop is what is in force behind the stop of a program with pauses at which
// the zone is set.
func (f *frame) stop(o *out, m *modal) modal {
	st := modal{beam: noBeam, known: true, path: f.end.path, inches: f.end.inches}
	switch {
	case m.beam != noBeam:
		st.beam = o.offWord().Mant
	case m.powerSaid:
		st.powerSaid = true // as 0
	}
	st.at = machine.Point{X: o.z.Point.X, Y: o.z.Point.Y, Z: o.written(f.s.p.burnZ)}
	o.stopZ = st.at.Z
	o.stopDark = st
	return st
}

// copy passes text on.
func (f *frame) copy(o *out, sp *spool) {
	if err := sp.copyTo(o.w); err != nil && o.w.err == nil {
		o.w.err = err
	}
}

// likeOf gives the first block of a text, for its style.
func (f *frame) likeOf(sp *spool) *program.Block {
	b := &program.Block{Comment: -1}
	r, err := sp.open()
	if err != nil || sp.empty() {
		return b
	}
	defer r.Close()
	rd := program.NewReader(r, f.s.opt.Name)
	for {
		next, err := rd.Next()
		if err != nil {
			return b
		}
		next.Hold(b)
		if len(b.Words) > 1 {
			return b
		}
	}
}

// prime returns an interpreter that has come to what m says.
func (f *frame) prime(m modal) *machine.Interpreter {
	cfg := f.s.opt.Machine
	cfg.Start = m.at
	cfg.StartXYKnown = m.known
	ip := machine.New(cfg)
	var t strings.Builder
	fmt.Fprintf(&t, "G%d G%d G%d\n", map[bool]int{false: 21, true: 20}[m.inches], map[bool]int{false: 90, true: 91}[m.relative],
		map[bool]int{false: 94, true: 93}[m.inverse])
	if m.motion >= 0 {
		fmt.Fprintf(&t, "G%d\n", m.motion)
	}
	if m.feedSaid {
		fmt.Fprintf(&t, "F%s\n", m.feed)
	}
	if m.powerSaid {
		fmt.Fprintf(&t, "%c%s\n", cfg.PowerWord, m.power)
	}
	if m.beam != noBeam {
		fmt.Fprintf(&t, "M%d\n", m.beam)
	}
	r := program.NewReader(strings.NewReader(t.String()), "")
	var mv machine.Move
	for {
		b, err := r.Next()
		if err != nil || ip.Step(b, &mv) != nil {
			return ip
		}
	}
}

// shift passes text on with its Z moved by off, and dark in a rehearsal. ready
// tells that Z is moved already; else it is before the first motion over XY.
// It reports whether Z is moved at the end. With owed set, the zone's program
// has another motion mode and feed in force than the text counts on: o.m and
// owed; they are said where they are needed first.
func (f *frame) shift(o *out, sp *spool, ip *machine.Interpreter, off float64, ready bool, owed *modal) bool {
	if sp.empty() {
		return ready
	}
	src, err := sp.open()
	if err != nil {
		o.w.err = err
		return ready
	}
	defer src.Close()
	r := program.NewReader(src, f.s.opt.Name)
	strayed := owed != nil && o.m.motion != owed.motion
	unfed := owed != nil && owed.feedSaid && !owed.inverse && !(o.m.feedSaid && o.m.feed.Cmp(owed.feed) == 0)
	for {
		b, err := r.Next()
		if err != nil {
			if !errors.Is(err, io.EOF) && o.w.err == nil {
				o.w.err = err
			}
			return ready
		}
		before := ip.State()
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			o.w.err = err
			return ready
		}
		after := ip.State()
		moves := m.Kind == machine.Line || m.Kind == machine.Arc
		_, hasZ := b.Find(o.opt.Machine.ZAxis)
		if moves && !ready && (m.Length > 0 || m.FromUnknown) {
			o.rise(b, &before, before.At.Z+off)
			ready, strayed = true, before.Motion != 0
		}
		o.inches = before.Inches
		relative := after.Relative
		if stopsProgram(b) {
			relative = before.Relative
		}
		o.ch = o.ch[:0]
		shift := off
		if !ready && !(hasZ && moves && !relative) {
			shift = 0
		}
		o.ch = o.edits(b, relative, shift, o.ch)
		if hasZ && moves && !relative {
			ready = true
			o.checkRange(m.To.Z+off, 0)
		}
		if moves && strayed {
			if !saysMotion(b) {
				o.sayG(int64(after.Motion))
			}
			strayed = false
		}
		if _, says := b.Find('F'); says || after.InverseTime {
			unfed = false
		} else if moves && unfed && !m.Rapid {
			o.say('F', owed.feed)
			unfed = false
		}
		if len(o.ch) == 0 {
			o.write(b.Raw)
		} else {
			o.changed(b)
		}
	}
}

// rise moves the focus axis alone, in the modes of st.
func (o *out) rise(like *program.Block, st *machine.State, z float64) {
	if st.Relative {
		o.ch = o.ch[:0]
		o.sayG(90)
		o.line(like)
	}
	o.ch = o.ch[:0]
	o.sayG(0)
	o.say(o.opt.Machine.ZAxis, program.Round(z/unit(st.Inches), max(o.opt.decimals(st.Inches), 0)))
	o.line(like)
	o.checkRange(z, 0)
	if st.Relative {
		o.sayG(91)
		o.line(like)
	}
}

func stopsProgram(b *program.Block) bool {
	for i := range b.Words {
		if w := &b.Words[i]; w.Letter == 'M' && (w.Num.Cmp(program.Int(2)) == 0 || w.Num.Cmp(program.Int(30)) == 0) {
			return true
		}
	}
	return false
}
