package job

import (
	"fmt"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/stream"
	"sagitta/internal/verify"
)

// ruledDepth is the depth of a lens for the burns of one rule: before anything is taken
// off, and what is left to use.
type ruledDepth struct {
	record.LensDepth
	Writing, Checking focus.Depth
}

// Rules are rules about burns, and what they ask for with lenses.
type Rules struct {
	record.Burns
	// name is what they are called in errors.
	name string
	// use is the job's own part of the depth to spend.
	use float64
}

// Focus reports whether any of them sets anything of the focus.
func (rs *Rules) Focus() bool {
	return slices.ContainsFunc(rs.Burns, func(r record.BurnRule) bool { return r.Focuses() })
}

// takeRules works out what rules leave of the lens's depth.
func (l *Lens) takeRules(name string, rules record.Burns) error {
	l.ruled = make([]ruledDepth, len(rules))
	for i := range rules {
		x, r := &l.ruled[i], &rules[i]
		var err error
		if x.LensDepth, err = l.depthOf(r); err == nil {
			x.Writing, x.Checking, err = l.left(x.LensDepth)
		}
		if e := diag.As(err); e != nil {
			at := r.Place("detail_mm")
			if r.DepthMM != nil {
				at = r.Place("depth_mm")
			}
			e.File, e.Line, e.Col, e.What = name, at.Line, at.Col, fmt.Sprintf("rule %d: %s", i+1, e.What)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// depthOf is the depth of the lens that a rule asks for.
func (l *Lens) depthOf(r *record.BurnRule) (record.LensDepth, error) {
	const or = ", or write depth_mm into the rule in place of detail_mm"
	switch {
	case r.DepthMM != nil:
		return record.LensDepth{Depth: r.DepthMM.Depth(), From: "depth_mm of the rule"}, nil
	case r.DetailMM == nil:
		return l.Depth, nil
	case l.Record == nil:
		return record.LensDepth{}, wrong("give the lens by its record (-l)"+or, "--depth does not tell how far details of %g mm stay legible", *r.DetailMM)
	case l.Record.DepthMM != nil && l.Record.SmallestDetailMM == nil:
		return record.LensDepth{}, wrong("write into the record with which detail its depth_mm was seen (smallest_detail_mm)"+or,
			"the record of lens %s does not tell how far details of %g mm stay legible", l.Name, *r.DetailMM)
	}
	d, ok := l.Record.DepthFor(*r.DetailMM)
	switch {
	case ok:
		d.From = fmt.Sprintf("details of %g mm, by %s", *r.DetailMM, d.From)
		return d, nil
	case d.Assumed:
		return d, diag.Errorf(diag.Unmet, "take a finer lens for these burns, or a coarser detail", "lens %s does not mark details of %g mm: %s", l.Name, *r.DetailMM, tooSmall(l.Record, *r.DetailMM))
	}
	return d, wrong("write waist_um and rayleigh_mm into the record"+or, "the record of lens %s does not tell how far details of %g mm stay legible: %s", l.Name, *r.DetailMM, d.From)
}

// left is what the lens's budget leaves of a depth.
func (l *Lens) left(d record.LensDepth) (writing, checking focus.Depth, err error) {
	b := l.Budget
	b.Lens, b.LensFrom = d.Depth, d.From
	if writing, err = b.Usable(focus.Writing); err == nil {
		checking, err = b.Usable(focus.Checking)
	}
	return writing, checking, err
}

// by is the depth for the burns of rule i, none of a lens that is out.
func (l *Lens) by(i int) (d ruledDepth) {
	if i < len(l.ruled) {
		d = l.ruled[i]
	}
	return d
}

// aim is what rule i asks for with a lens, whose wanted defocus is given; writing tells that
// it is to be written, and not checked.
func (rs *Rules) aim(l *Lens, i int, defocus float64, writing bool) focus.Aim {
	r, x := &rs.Burns[i], l.by(i)
	a := focus.Aim{Depth: x.Checking, Use: rs.use, Defocus: defocus}
	if writing {
		a.Depth = x.Writing
	}
	if r.Use != nil {
		a.Use = *r.Use
	}
	if d := r.Defocus(); d != nil {
		a.Defocus = *d
	}
	return a
}

// kinds sorts the rules into kinds of burns that ask for the same with a lens: kind 0 asks
// for what the job does. It is nil where there are no rules.
func (rs *Rules) kinds(l *Lens, defocus float64) (*stream.Kinds, []focus.Aim) {
	k, aims := rs.kindsOf([]*Lens{l}, func(*Lens) float64 { return defocus })
	if k == nil {
		return nil, nil
	}
	return k, aims[0]
}

// kindsOf sorts them into kinds that ask for the same with each of several lenses, and gives
// what kinds ask for by lens, each of which has a wanted defocus.
func (rs *Rules) kindsOf(lenses []*Lens, defocus func(*Lens) float64) (*stream.Kinds, [][]focus.Aim) {
	if rs.Burns == nil {
		return nil, nil
	}
	k, aims := &stream.Kinds{Rule: rs.rule, Of: []int{0}}, make([][]focus.Aim, len(lenses))
	n := 0
	for i := range rs.Burns {
		asked := make([]focus.Aim, len(lenses))
		own := true
		for m, l := range lenses {
			asked[m] = rs.aim(l, i, defocus(l), true)
			own = own && asked[m] == focus.Aim{Depth: l.Writing, Use: rs.use, Defocus: defocus(l)}
		}
		of := 0
		for kind := 1; kind <= n && of == 0 && !own; kind++ {
			of = kind
			for m := range lenses {
				if aims[m][kind-1] != asked[m] {
					of = 0
				}
			}
		}
		if of == 0 && !own {
			for m := range lenses {
				aims[m] = append(aims[m], asked[m])
			}
			n++
			of = n
		}
		k.Of = append(k.Of, of)
	}
	return k, aims
}

// rule is the rule for a burn, by its number from 1; 0 where there is none.
func (rs *Rules) rule(line, tool int, feedMMMin, power float64) int {
	return rs.Match(record.Burn{Line: line, Tool: tool, FeedMMMin: feedMMMin, Power: power}) + 1
}

// rules are those to check a program with.
func (rs *Rules) checks(l *Lens, defocus float64) (list []verify.Rule) {
	for i := range rs.Burns {
		r, a := &rs.Burns[i], rs.aim(l, i, defocus, false)
		var lines [][2]int
		if r.Lines != nil {
			lines = *r.Lines
		}
		list = append(list, verify.Rule{Lines: lines, Tool: r.Tool, FeedMMMin: r.FeedMMMin, Power: r.Power, Depth: a.Depth, DefocusMM: a.Defocus})
	}
	return list
}

// Checked is what rule i asks for with a lens when it is checked, where that is wanted to be
// defocused by so much.
func (rs *Rules) Checked(l *Lens, i int, defocus float64) focus.Aim {
	return rs.aim(l, i, defocus, false)
}

// Text says of rule i which burns it is for, what it wants of them, and what of the
// depth of lenses is left to use for that.
func (rs *Rules) Text(lenses []Lens, i int, p focus.Purpose) string {
	r := &rs.Burns[i]
	text := fmt.Sprintf("rule %d: %s", i+1, r)
	if r.DepthMM == nil && r.DetailMM == nil {
		return text
	}
	var depths, names []string
	alike := true // with all lenses
	for k := range lenses {
		l := &lenses[k]
		if l.Out != nil {
			continue
		}
		left := l.by(i).Checking
		if p == focus.Writing {
			left = l.by(i).Writing
		}
		depths = append(depths, phrase.SidesMM(left.Near, left.Far)+" mm")
		names = append(names, l.Name)
		alike = alike && depths[0] == depths[len(depths)-1]
	}
	if alike && len(depths) > 0 {
		return text + ", usable depth " + depths[0]
	}
	for k := range depths {
		depths[k] += " with lens " + names[k]
	}
	return text + ", usable depth " + phrase.List(depths)
}
