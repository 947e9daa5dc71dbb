package follow

import (
	"github.com/paulmach/orb"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// fewOff burns off the surface are listed one by one; of more it is said how they lie to
// it as a whole.
const fewOff = 3

// OffTogether puts one failure in the place of those of a kind, burns off the surface,
// where they are many or all there are, and adds what would bring burns and surface
// together; as makes that failure of the first and their number.
func OffTogether[F diag.Conflict](u *diag.UnmetList[F], kind, burns int, burned *stream.Closed, on *surface.Placed, as func(first F, count int) F) {
	count := u.Has(kind)
	if count == 0 || count <= fewOff && count < burns {
		return
	}
	if count > 1 {
		u.Gather(kind, as)
	}
	area := func(b orb.Bound) surface.Area { return surface.Area{Min: b.Min, Max: b.Max} }
	u.Hints = append(u.Hints, surface.Apart(on, area(burned.Burned()), burned.Inches())...)
}

// leastSlowest is the least part of a feed that anybody burns at on purpose.
const leastSlowest = 0.1

// Together is a failure that stands for so many of its kind.
func (f Failure) Together(count int) Failure {
	f.Count = count
	return f
}

// refusal is what could not be done, with what may help; nil where all could.
func refusal(a *account) error {
	u := &a.fails.UnmetError
	OffTogether(u, int(OffSurface), a.sum.Burns, &a.sum.Closed, a.opt.Surface, Failure.Together)
	for kind := range says {
		if u.Has(kind) == 0 || len(u.Hints) > 0 {
			continue
		}
		if hint := a.opt.help(FailureKind(kind)); hint != "" {
			u.Hints = append(u.Hints, hint) // one way at a time
		}
	}
	return u.Err(a.opt.Name)
}

// help is what may help against a kind of failure, "" for nothing beyond what it says
// itself.
func (o *Options) help(kind FailureKind) string {
	const (
		split  = "sagitta split, which divides the job among settings of the focus"
		advise = "; sagitta advise says which way is right"
	)
	switch kind {
	case OffSurface:
		return "measure there as well (sagitta probe says where), or give --outside hold for the height of the edge"
	case NotSure:
		return "touch there again and nearer to each other (sagitta surface says where), or take a deeper lens"
	case OverHole:
		return "sagitta surface fills holes between touched points; or touch there as well"
	case TooSteep:
		switch {
		case o.Slow != bench.SlowBurns:
			return "try --slow burns, which lets burns go slower, and their power with them, or " + split + advise
		case o.Slowest > leastSlowest:
			return "try a smaller --slowest, which lets burns go slower still, or " + split + advise
		}
		return "try " + split + advise
	case NoRoom:
		return "try a deeper lens, or " + split + advise
	case Apart:
		return "let what their rules allow overlap (depth_mm, defocus_mm), have the beam off on a travel between them, or try " + split + advise
	case TooDeep, NotFlat, PowerLow:
		return "try " + split + advise
	case OutOfRange:
		return "count Z from where it has more room (z_min_mm, z_max_mm), or try " + split + advise
	}
	return ""
}
