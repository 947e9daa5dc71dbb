package cli

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"github.com/paulmach/orb"

	"sagitta/internal/cli/files"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/recheck"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/surface/file"
)

type recheckOptions struct {
	readingOptions
	Surface      string      `opt:"surface"`
	Lens         string      `opt:"lens"`
	Depth        string      `opt:"depth"`
	Machine      string      `opt:"machine"`
	Datum        *[2]float64 `opt:"datum"`
	Shift        *[2]float64 `opt:"shift"`
	Rotate       float64     `opt:"rotate"`
	Method       string      `opt:"method"`
	SurfaceError float64     `opt:"surface-error"`
	KeepOut      string      `opt:"keep-out"`
	Start        *[2]float64 `opt:"start"`
	Fixture      string      `opt:"fixture"`
	At           string      `opt:"at"`
	Places       float64     `opt:"places" in:"[3,50]" wants:"a whole number from 3 to 50" is:"touch <N> places"`
	Clear        float64     `opt:"clear" in:"(0,1000]" wants:"a length above 0 in mm" is:"height over the datum between touches, in <MM> (default: 5, or 3 over the highest)"`
	ByHand       bool        `opt:"by-hand" is:"write a sheet to fill in, and a numbered map beside it"`
	After        float64     `opt:"after" in:"[1,1e9]" wants:"the number of a line" is:"put a stop with two touches by hand into the program, behind line <N>"`
	Readings     string      `opt:"readings" file:"measured" is:"judge the filled-in sheet or log of touches in <FILE>"`
	Out          string      `opt:"output,o" file:"program|csv" is:"write to <FILE>: the touches, or the surface as it lies now"`
}

func (o *recheckOptions) check(args []string) error {
	if err := o.readingOptions.check(); err != nil {
		return err
	}
	whole := func(v float64) bool { return v == math.Trunc(v) }
	switch {
	case o.Readings != "" && len(args) > 0:
		return usagef("leave the program out", "--readings judges what was touched, and wants no program")
	case o.Readings == "" && len(args) == 0:
		return usagef("give the program to have places chosen, or --readings with what was touched", "no program given")
	case len(args) > 1:
		return usagef("", "one program at a time, not also %s", args[1])
	case o.Readings != "" && (o.ByHand || o.After > 0):
		return usagef("", "--by-hand and --after are for choosing places, and --readings judges them")
	case o.ByHand && o.After > 0:
		return usagef("", "--after puts its touches into the program; leave --by-hand out")
	case !whole(o.Places) || !whole(o.After):
		return usagef("", "--places and --after want whole numbers")
	}
	return nil
}

// options are those with which the surface is laid under a program.
func (o *recheckOptions) options(s *session) *job.Options {
	all := job.Defaults()
	all.Surface, all.Depth, all.Machine, all.Datum, all.Shift, all.Rotate = o.Surface, o.Depth, o.Machine, o.Datum, o.Shift, o.Rotate
	all.Method, all.SurfaceError, all.KeepOut, all.Start, all.Fixture, all.At = o.Method, o.SurfaceError, o.KeepOut, o.Start, o.Fixture, o.At
	if o.Lens != "" {
		all.Lenses = []string{o.Lens}
	}
	all.Given, all.Version = s.given, Version
	all.Note = func(line string) { s.say.Line("%s", line) }
	return &all
}

func (o *recheckOptions) run(s *session, args []string) error {
	if err := o.check(args); err != nil {
		return err
	}
	if err := files.OneStream(append(args, o.Surface, o.Machine, o.Lens, o.KeepOut, o.Readings, o.Fixture)...); err != nil {
		return err
	}
	j, err := job.New(s.open, o.options(s), job.MaybeLens)
	if err != nil {
		return err
	}
	if o.Readings != "" {
		return o.judge(s, j)
	}
	name := args[0]
	if o.After > 0 {
		return o.stop(s, j, name)
	}
	return o.touches(s, j, name)
}

// judge judges what was touched.
func (o *recheckOptions) judge(s *session, j *job.Job) error {
	r, err := readTouches(s, o.Readings, o.reading())
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.Out); err != nil {
		return err
	}
	q, a, err := job.Judge(j, o.Readings, r)
	if err != nil {
		return err
	}
	allowed := q.Allowed
	moved, err := a.Moved(q, j.Measured())
	if err != nil {
		return err
	}
	if o.Out != "" && moved != nil {
		var text bytes.Buffer
		fmt.Fprintf(&text, "# %s recheck, from %s and %s\n", maker, filepath.Base(j.Surface), filepath.Base(o.Readings))
		if err := file.Write(&text, moved); err != nil {
			return err
		}
		if err := s.files.Write(files.Result{Name: o.Out, Text: text.Bytes()}); err != nil {
			return err
		}
	}
	s.say.Rechecked(j, q, a, allowed, o.Out, moved != nil)
	return held(a)
}

// site is where the program leaves room to touch.
func (o *recheckOptions) site(s *session, j *job.Job, name string) (*recheck.Site, *machine.Point, error) {
	burns, first, err := readBurns(s, j.Config, name)
	return &recheck.Site{Surface: j.Placed, Burns: burns}, first, err
}

// first is where touching begins: at the datum, or where the program does.
func (o *recheckOptions) first(j *job.Job, site *recheck.Site) orb.Point {
	if at, _, ok := j.DatumXY(); ok {
		return orb.Point(at)
	}
	return site.Burns.Bound().Min
}

// zero says where the zero of the heights is.
func zero(j *job.Job) string {
	at := setup.Setting{Turn: job.Turn(j.Machine)}
	if xy, _, ok := j.DatumXY(); ok {
		at.Datum = &xy
	}
	return at.From() + ", as when it was measured"
}

// touches writes the program or the sheet.
func (o *recheckOptions) touches(s *session, j *job.Job, name string) error {
	m := j.Machine
	if m.ZMoves == record.ZByHand && !o.ByHand {
		return usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.Machine)
	}
	site, begins, err := o.site(s, j, name)
	if err != nil {
		return err
	}
	drawing := mapOf(o.ByHand, o.Out)
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), drawing); err != nil {
		return err
	}
	if err := keepSheet(o.ByHand, o.Out, "-o"); err != nil {
		return err
	}
	turn := j.Placed.Surface().Header().WrapsYMM
	if !o.ByHand {
		if err := o.reaches(j); err != nil {
			return err
		}
		site.Reach = probe.Reach(m)
		b := site.Burns.Bound().Pad(1)
		clear, err := probe.At([]orb.Point{b.Min, b.Max}, nil, b.Min).Touchable(m, j.Boxes, turn, j.Known)
		if err != nil {
			return err
		}
		site.Touchable = func(q orb.Point) bool {
			h, _ := j.Placed.At(q[0], q[1])
			return h > -m.ProbeDepthMM+reachedMM && clear(q)
		}
	}
	places, err := recheck.Choose(site, int(o.Places))
	if err != nil {
		return err
	}
	p := probe.At(places.At, site.Burns, o.first(j, site))
	p.Zero, p.Stock = zero(j), j.Placed
	title := fmt.Sprintf("%s: %s to touch again", shortName(name), phrase.Count(len(p.Places), "place"))
	text, seconds, aloft := p.Sheet(title, 0), 0.0, probe.Level(o.Clear)
	var maps []files.Result
	if o.ByHand {
		maps = mapFiles(drawing, p.Map(title))
	} else {
		if err := p.Clear(m, aloft, j.Boxes, turn, j.Known, o.Start); err != nil {
			return err
		}
		seconds = p.Seconds(m, aloft)
		if text, err = p.Program(m, aloft, fmt.Sprintf("%s recheck of %s", maker, filepath.Base(name))); err != nil {
			return err
		}
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}, maps...); err != nil {
		return err
	}
	s.say.Recheck(j, begins, p, places.BareMM, seconds, o.Start != nil)
	return nil
}

const (
	// usualClear in mm is how high touch tools travel, and overHighest how much over the
	// highest stock at least (common practice, no source).
	usualClear, overHighest = 5, 3
)

// reachedMM is how far over the lowest that a touch goes to the stock must lie.
const reachedMM = 0.5

// reaches settles how high the tool travels.
func (o *recheckOptions) reaches(j *job.Job) error {
	_, high, _, _ := j.Placed.Range()
	if o.Clear == 0 {
		o.Clear = max(usualClear, math.Ceil(high+overHighest))
	}
	if high >= o.Clear {
		return usagef("give --clear a height over the datum that the stock does not reach",
			"the stock stands %s mm over the datum, as high as the travels between touches", phrase.MM(high))
	}
	return nil
}

// byHandPlaces are how many places a stop asks for.
const byHandPlaces = 2

// stop puts a stop with touches into the program.
func (o *recheckOptions) stop(s *session, j *job.Job, name string) error {
	site, _, err := o.site(s, j, name)
	if err != nil {
		return err
	}
	places, err := recheck.Choose(site, byHandPlaces)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-")); err != nil {
		return err
	}
	allowed := recheck.Allowed(j.Taken, j.NoiseMM(), len(j.Lenses) > 0)
	stop := recheck.Stop{After: int(o.After)}
	stop.Says = append(stop.Says, "set the gauge to 0 "+zero(j))
	for _, q := range places.At {
		h, _ := j.Placed.At(q[0], q[1])
		stop.Says = append(stop.Says, fmt.Sprintf("touch X%.1f Y%.1f: %s mm, at most %s mm off", q[0], q[1], phrase.Signed(h, 2), phrase.Up(allowed.At(j.Placed, q[0], q[1]), 2)))
	}
	line := 0
	text, err := job.Read(s.open, name, func(r io.Reader, name string) ([]byte, error) {
		var out bytes.Buffer
		var err error
		line, err = stop.Insert(r, &out, j.Stop(name))
		return out.Bytes(), err
	})
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}); err != nil {
		return err
	}
	s.say.RecheckStop(j, line, stop.Says, places.BareMM)
	return nil
}
