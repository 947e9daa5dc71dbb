package job

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/report/trace"
	"sagitta/internal/rewrite"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// Follow are the options to follow the program name with, with the first lens.
func (j *Job) Follow(name string) follow.Options {
	rules, kinds := j.Rules.kinds(&j.Lenses[0], j.Defocus)
	return follow.Options{
		Rules: rules, Kinds: kinds,
		Options: j.writing(name, "follow"), Surface: j.under(j.Lenses[:1]), Depth: j.Lenses[0].Writing,
		Use: j.Use, Defocus: j.Defocus, OutsideHold: j.Outside == "hold", Head: j.Known,
		Setting: func(first machine.Point) []string {
			at := Setup{Job: j}.Setting(&first)
			return at.Ways()
		},
	}
}

// Stop says how a stop is put into the program name.
func (j *Job) Stop(name string) rewrite.Options { return j.writing(name, "recheck") }

// writing says how a program is written out of the program name; verb is what its
// marker says.
func (j *Job) writing(name, verb string) rewrite.Options {
	m := j.Machine
	return rewrite.Options{
		Name: name, Bench: j.bench(), KeepRamps: j.KeepRamps,
		Numbered: m.Numbered, LineMax: record.Known(m.LineMax), Comments: m.Comments, Marker: j.marker(verb),
	}
}

// bench is what programs are written and checked for.
func (j *Job) bench() bench.Bench {
	m := j.Machine
	return bench.Bench{
		Machine: j.Config, ZPlusAway: m.ZPlus == record.Away,
		ZMoves: map[string]bench.Moves{record.ZBeamOff: bench.BeamOff, record.ZByHand: bench.ByHand}[m.ZMoves],
		ZMin:   m.ZMinMM, ZMax: m.ZMaxMM, ZRate: record.Known(m.ZRateMMMin) / 60, FeedMax: record.Known(m.FeedMaxMMMin),
		Accel: record.Known(m.AccelMMS2), StopsAtBeam: m.StopsAtBeam, Inertia: limits(m),
		ZResolution: record.Known(m.ZResolutionMM), DecimalsMM: m.DecimalsMM(), DecimalsInch: m.DecimalsInch(),
		DecimalsMaxMM: m.DecimalsMaxMM(), DecimalsMaxInch: m.DecimalsMaxInch(),
		Slow:    map[string]bench.Slow{"scaled": bench.SlowScaled, "burns": bench.SlowBurns}[j.Slow],
		Slowest: j.Slowest, PowerBySpeed: m.PowerScale == record.BySpeed, PowerLeast: record.Known(m.PowerLeastPct) / 100 * m.SMax,
		Harmless: m.Harmless, Reach: reach(m),
	}
}

// Zones are the options to divide the program name with, among all lenses that are in, at the
// defocus of the first of them.
func (j *Job) Zones(name string) zone.Options {
	tip := j.Head.with(j.Machine, &record.Lens{StandoffMM: new(float64)}) // how high it stands is each lens's
	lenses, defocus := j.In(), j.Defocus
	if len(lenses) > 0 {
		defocus = lenses[0].Defocus
	}
	opt := zone.Options{
		Options: j.writing(name, "split"), Surface: j.under(j.Lenses), Defocus: defocus,
		OutsideHold: j.Outside == "hold", Head: tip.Known, Turn: Turn(j.Machine), GaugeFoot: j.Machine.GaugeFootMM, Boxes: j.Boxes,
	}
	if xy, _, ok := j.DatumXY(); ok {
		opt.Datum = &xy
	}
	rules, kinds := j.Rules.kindsOf(lenses, func(*Lens) float64 { return defocus })
	opt.Rules = rules
	if j.Rules.TellCuts() {
		opt.Cuts = func(line, tool int, feed, power float64) bool {
			k := j.Rules.rule(line, tool, feed, power)
			return k > 0 && j.Rules.Burns[k-1].Cutting()
		}
	}
	for i, l := range lenses {
		z := zone.Lens{Name: l.Name, Depth: l.Writing}
		if kinds != nil {
			z.Kinds = kinds[i]
		}
		if l.Record == nil {
			z.Name, z.Unnamed = "lens", true
		} else {
			z.DetailMM, z.Standoff, z.FocusHeight = record.Known(l.Record.SmallestDetailMM), l.Record.StandoffMM, l.Record.FocusHeightMM
			z.FocusShift, z.SpotShift = l.Record.FocusShift(), l.Record.SpotShiftMM
			z.Spot, _ = l.Record.Spot()
		}
		opt.Lenses = append(opt.Lenses, z)
	}
	return opt
}

// Within are the options to follow the surface with within zones.
func (j *Job) Within() *zone.Within {
	f := j.Follow("")
	f.Marker, f.Setting = j.marker("split"), nil
	return &zone.Within{Follow: f}
}

// Verify are the options to check a program with, with the first lens.
func (j *Job) Verify() verify.Options {
	return verify.Options{
		Bench: j.bench(), Surface: j.Placed, Depth: j.Lenses[0].Checking, Less: j.less(j.Lenses[:1]), DefocusMM: j.Defocus,
		Rules:       j.Rules.checks(&j.Lenses[0], j.Defocus),
		OutsideHold: j.Outside == "hold", Head: j.HeadOf(&j.Lenses[0]),
	}
}

// Traced has verify.Run with these options, which are those of Verify, keep a trace of the
// program name; original tells that it is held to one. focus is nil, or the height over the
// datum that the options were made for by VerifyAt. again is the program once more, which is
// read where inertia is known (see Timing), and else may be nil.
func (j *Job) Traced(opt *verify.Options, name string, again io.ReaderAt, focus *float64, original bool) *Tracing {
	l := &j.Lenses[0]
	p := trace.Program{Name: filepath.Base(name), Lens: l.Name, Near: opt.Depth.Near, Far: opt.Depth.Far, DefocusMM: opt.DefocusMM}
	t := &Tracing{original: original, bench: Timing(j.Machine, j.Config), open: func(int) (io.ReadCloser, error) {
		return io.NopCloser(anew(again)), nil
	}}
	if focus != nil {
		p.FocusMM, t.raised = *focus, j.LoweredBy(*focus)
	}
	t.programs = []trace.Program{p}
	opt.Watch = t
	return t
}

// VerifyTraced holds a program to its original, or where that is nil to the surface alone,
// with the first lens, and keeps a trace of it. focus is where the focus is set over the
// datum, nil for a program that writes its heights into Z; dark tells that it is a
// rehearsal. Errors are those of verify.Run.
func (j *Job) VerifyTraced(checked io.ReaderAt, name string, original io.Reader, originalName string, focus *float64, dark bool) (*verify.Result, *trace.Trace, error) {
	opt := j.Verify()
	if focus != nil {
		opt = j.VerifyAt(*focus)
	}
	opt.Rehearsal = dark
	t := j.Traced(&opt, name, checked, focus, original != nil)
	res, err := verify.Run(anew(checked), name, original, originalName, opt)
	if err != nil {
		t.close()
		return nil, nil, err
	}
	kept, err := t.Trace()
	return res, kept, err
}

// anew is what may be read more than once, from its beginning.
func anew(of io.ReaderAt) io.Reader { return io.NewSectionReader(of, 0, math.MaxInt64) }

// less tells by how much the depths of lenses are less on either side where a height has
// a standard uncertainty than where heights are surest: of several by as much as any is.
// It is nil where heights are all as sure.
func (j *Job) less(lenses []Lens) func(errorMM float64) float64 {
	if j.Taken.GreatestError.MM == 0 {
		return nil
	}
	return func(errorMM float64) float64 {
		most := 0.0
		for i := range lenses {
			if lenses[i].Out == nil {
				most = max(most, lenses[i].Budget.Less(errorMM))
			}
		}
		return most
	}
}

// under is the surface as it is under lenses.
func (j *Job) under(lenses []Lens) *surface.Placed {
	less := j.less(lenses)
	if less == nil {
		return j.Placed
	}
	return j.Placed.Narrowed(less)
}

// VerifyAt are those where best focus stands at a height over the datum while Z is as
// at the first burn: heights count from there.
func (j *Job) VerifyAt(height float64) verify.Options {
	opt := j.Verify()
	height = j.LoweredBy(height)
	opt.Surface = opt.Surface.Lowered(height)
	if opt.Head != nil {
		head := *opt.Head
		head.Boxes = slices.Clone(head.Boxes)
		for i := range head.Boxes {
			head.Boxes[i].Height -= height
		}
		opt.Head = &head
	}
	return opt
}

// LoweredBy is by how much the surface is lowered for that.
func (j *Job) LoweredBy(height float64) float64 {
	if j.Machine.ZMoves == record.ZByHand {
		height -= j.Defocus // the wanted one is set by hand, and counts as that
	}
	return height
}

// marker is the text of the comment by which a program is known again.
func (j *Job) marker(verb string) string {
	text := fmt.Sprintf("%s %s %s", rewrite.MarkerName, j.Version, verb)
	if len(j.Lenses) > 0 {
		lens := j.Lenses[0].Budget.Lens
		text += fmt.Sprintf(" --use %g --depth=-%.4g,%.4g", j.Use, lens.Near, lens.Far)
	}
	if j.Defocus != 0 {
		text += fmt.Sprintf(" --defocus %g", j.Defocus)
	}
	for _, p := range []struct {
		name string
		at   *[2]float64
	}{{"datum", j.Datum}, {"shift", j.Shift}} {
		if p.at != nil {
			text += fmt.Sprintf(" --%s %g,%g", p.name, p.at[0], p.at[1])
		}
	}
	if j.Rotate != 0 {
		text += fmt.Sprintf(" --rotate %g", j.Rotate)
	}
	text += " --method " + j.Reading()
	if r := j.Machine.ZRateMMMin; r != nil {
		text += fmt.Sprintf(" --z-rate %g", *r)
	}
	text += " surface sha256:" + j.Placed.Surface().Source().Digest
	if j.Rules.Burns != nil {
		if _, kinds := j.Rules.kinds(&j.Lenses[0], j.Defocus); kinds != nil {
			text += " burns sha256:" + j.Rules.Digest()
		}
	}
	return text
}
