package advise

import (
	"errors"
	"io"
	"math"
	"os"

	"sagitta/internal/bench"
	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// feedLeast is the part of the greatest feed below which no feed is looked for.
const feedLeast = 0.02

// evenFeed gives the greatest feed in mm/min, within rateStep, at which burns follow at one
// speed: none is slowed, and no more of them go slower for what the axes can do than is
// hardly seen. It is 0 where none is, or feeds are said as times.
func (g *adviser) evenFeed(opt follow.Options) (float64, error) {
	opt.Slow = bench.SlowNever
	greatest, err := g.lower(io.Discard, math.Inf(1))
	if err != nil || greatest == 0 {
		return 0, err
	}
	uneven, even := greatest, 0.0
	for f := greatest / 2; even == 0 || uneven > even*rateStep; {
		if f = downTwo(f); f < feedLeast*greatest || f <= even {
			break
		}
		ok, err := g.evenAt(f, opt)
		if err != nil {
			return 0, err
		}
		if ok {
			even = f
		} else {
			uneven = f
		}
		if f = uneven / 2; even > 0 {
			f = math.Sqrt(even * uneven)
		}
	}
	return even, nil
}

// downTwo rounds a positive number down to two digits.
func downTwo(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v))-1)
	return math.Floor(v/p*(1+1e-9)) * p
}

// evenAt reports whether burns go evenly where none is faster than a feed.
func (g *adviser) evenAt(most float64, opt follow.Options) (bool, error) {
	f, err := os.CreateTemp("", "sagitta-*")
	if err != nil {
		return false, err
	}
	defer func() {
		_ = f.Close()
		_ = os.Remove(f.Name())
	}()
	if _, err := g.lower(f, most); err != nil {
		return false, err
	}
	slower := *g
	slower.program = f
	_, unmet, made, _, err := slower.tryTimed(opt)
	return err == nil && unmet == nil && (made == nil || made.SlowPart() <= darkLittle), err
}

// lower writes the program with no feed above so many mm/min, and gives the greatest at which
// it burns; 0 where feeds are said as times.
func (g *adviser) lower(out io.Writer, most float64) (greatest float64, err error) {
	if _, err := g.program.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	r, ip := program.NewReader(g.program, g.opt.Follow.Name), machine.New(g.opt.Follow.Machine)
	var line []byte
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return greatest, nil
		}
		if err != nil {
			return 0, err
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			return 0, err
		}
		st, said := ip.During(), ip.Actions().F
		if st.InverseTime {
			return 0, nil
		}
		if m.Burn {
			greatest = max(greatest, m.Feed)
		}
		var changes []program.Change
		if f := said.In(b); f != nil && st.FeedMM() > most {
			changes = append(changes, program.Change{Letter: 'F', Num: program.Round(f.Num.Float()*most/st.FeedMM(), 3)})
		}
		line = program.AppendChanged(line[:0], b, changes)
		if _, err := out.Write(line); err != nil {
			return 0, err
		}
	}
}
