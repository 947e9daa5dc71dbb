package verify

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/focus"
)

// Rule is a rule about burns: of those that match a burn the first counts. What is nil of
// what it matches matches all.
type Rule struct {
	// Lines are the spans of lines that it is for, of the original or, where there is
	// none, of the program itself, each from a first to a last; Tool is the number of the tool word in force
	// there. FeedMMMin and Power are the least and the greatest of what is programmed.
	Lines            [][2]int
	Tool             *int
	FeedMMMin, Power *[2]float64
	// Depth is the usable depth of these burns, and DefocusMM their wanted defocus, + away.
	Depth     focus.Depth
	DefocusMM float64
}

// takes reports whether the rule is for a burn.
func (r *Rule) takes(s *Step) bool {
	if r.Lines != nil && !slices.ContainsFunc(r.Lines, func(span [2]int) bool { return span[0] <= s.Line && s.Line <= span[1] }) || r.Tool != nil && s.Tool != *r.Tool {
		return false
	}
	feed := s.M.Feed
	if s.Inverse && s.M.Seconds > 0 {
		feed = s.M.Length / s.M.Seconds * secondsPerMinute
	}
	if f := r.FeedMMMin; f != nil && (feed < f[0] || feed > f[1]) {
		return false
	}
	return r.Power == nil || s.M.Power >= r.Power[0] && s.M.Power <= r.Power[1]
}

// Ruled is what was found of the burns of one rule.
type Ruled struct {
	Burns        int
	BurnLengthMM float64
	// BurnsOut counts those that leave the depth, Defocus is the greatest defocus against
	// the wanted one, and Less by how much either side of the depth is less there.
	BurnsOut int
	Defocus  focus.Extreme
	Less     float64

	worst float64 // magnitude of Defocus, below 0 before the first burn
}

// Part is the part of a depth that the greatest defocus spends.
func (r *Ruled) Part(d focus.Depth) float64 {
	if r.Defocus.MM < 0 {
		return (r.Less - r.Defocus.MM) / d.Near
	}
	return (r.Less + r.Defocus.MM) / d.Far
}

// asked is what is asked of a step: the depth, the wanted defocus, and of a burn where
// that is counted.
type asked struct {
	depth   focus.Depth
	defocus float64
	ruled   *Ruled
}

// asks tells what is asked of the steps of a program, and counts burns by rule.
type asks struct {
	opt      *Options
	res      *Result
	original bool // there is one
	// travels is what is asked of travels, which may come as near as any burn, and now what
	// is asked of the step under way.
	travels, now asked
}

func newAsks(o *Options, r *Result, original bool) asks {
	r.Allowed = o.Depth
	r.Rules = make([]Ruled, 1+len(o.Rules))
	for k := range r.Rules {
		r.Rules[k].worst = -1
	}
	travels := asked{depth: o.Depth, defocus: o.DefocusMM}
	least, low := o.DefocusMM, o.DefocusMM-o.Depth.Near
	for k := range o.Rules {
		x := &o.Rules[k]
		least, low = min(least, x.DefocusMM), min(low, x.DefocusMM-x.Depth.Near)
	}
	if least < o.DefocusMM || low < o.DefocusMM-o.Depth.Near {
		travels.defocus, travels.depth.Near = least, least-low
	}
	return asks{o, r, original, travels, travels}
}

// of settles what is asked of a step, which is the original's step o or has none there: a
// burn that the original has not is held to what the job asks for.
func (a *asks) of(s *Step, burn bool, o *Step) {
	if !burn {
		a.now = a.travels
		return
	}
	a.now = asked{a.opt.Depth, a.opt.DefocusMM, &a.res.Rules[0]}
	if o == nil && !a.original {
		o = s
	}
	for k := range a.opt.Rules {
		if r := &a.opt.Rules[k]; o != nil && r.takes(o) {
			a.now = asked{r.Depth, r.DefocusMM, &a.res.Rules[k+1]}
			break
		}
	}
	a.now.ruled.Burns++
	a.now.ruled.BurnLengthMM += s.M.Length
}

// worstOf takes the greatest defocus over all burns from those of the rules: of several the
// one that spends the greatest part of what its burns may.
func (r *Result) worstOf(o *Options) {
	most := math.Inf(-1)
	for k := range r.Rules {
		x := &r.Rules[k]
		depth := o.Depth
		if k > 0 {
			depth = o.Rules[k-1].Depth
		}
		if part := x.Part(depth); x.worst >= 0 && part > most {
			most, r.Defocus, r.Less, r.Allowed, r.Part = part, x.Defocus, x.Less, depth, part
		}
	}
}

// checkRules returns an error where rules make no sense.
func (o *Options) checkRules() error {
	for k := range o.Rules {
		r := &o.Rules[k]
		if err := r.Depth.Check(); err != nil {
			return fmt.Errorf("rule %d: %w", k+1, err)
		}
		if math.IsNaN(r.DefocusMM) || math.IsInf(r.DefocusMM, 0) {
			return fmt.Errorf("rule %d: a defocus of %v mm is no number", k+1, r.DefocusMM)
		}
	}
	return nil
}
