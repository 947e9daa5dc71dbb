package advise

import (
	"io"
	"os"

	"sagitta/internal/follow"
	"sagitta/internal/timing"
)

// timeJob gives the job the time that it takes as it is, where the axes have inertia.
func (g *adviser) timeJob() error {
	b := timing.On(&g.opt.Follow.Bench)
	if b == nil {
		return nil
	}
	if _, err := g.program.Seek(0, io.SeekStart); err != nil {
		return err
	}
	t, err := timing.Of(g.program, g.opt.Follow.Name, *b)
	if err != nil {
		return err
	}
	g.a.Job.Seconds, g.a.Job.Inertia = t.Seconds, true
	return nil
}

// tryTimed follows into a file that goes again, and tells what it takes beside the
// original where the axes have inertia; else into nothing, and the times are nil.
func (g *adviser) tryTimed(opt follow.Options) (sum *follow.Summary, unmet *follow.UnmetError, made, original *timing.Times, err error) {
	b := timing.On(&g.opt.Follow.Bench)
	if b == nil {
		sum, unmet, err = g.try(opt, io.Discard)
		return sum, unmet, nil, nil, err
	}
	f, err := os.CreateTemp("", "sagitta-*")
	if err != nil {
		return nil, nil, nil, nil, err
	}
	defer func() {
		_ = f.Close()
		_ = os.Remove(f.Name())
	}()
	if sum, unmet, err = g.try(opt, f); err != nil || unmet != nil {
		return sum, unmet, nil, nil, err
	}
	for _, in := range []io.Seeker{f, g.program} {
		if _, err = in.Seek(0, io.SeekStart); err != nil {
			return nil, nil, nil, nil, err
		}
	}
	made, original, err = timing.Beside(f, g.program, opt.Name, opt.Name, *b)
	return sum, nil, made, original, err
}
