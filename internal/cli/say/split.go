package say

import (
	"os"

	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/zone"
)

// Split says what dividing a job came to; follow tells that it was to be
// followed within zones.
func (v Voice) Split(j *job.Job, p *zone.Plan, follow bool, dir string) {
	v.start(j)
	v.noProfile(j)
	for _, n := range p.Lenses {
		over := ""
		if n.Zones > 0 {
			how := "and none fewer would do"
			if p.Followed {
				how = "followed within"
			}
			over = " over heights from " + phrase.MM(n.Low) + " to " + phrase.MM(n.High) + " mm, " + phrase.Count(n.Zones, "zone") + ", " + how
		}
		v.Line("lens %s, usable depth %s mm: %s%s", n.Name, phrase.SidesMM(n.Usable.Near, n.Usable.Far), phrase.Count(n.Figures, "figure"), over)
	}
	if follow && !p.Followed {
		v.Line("not followed: within zones that are followed more settings would be needed")
	}
	v.Line("%s, %s mm long; %s cut in %s, %s within figures", phrase.Count(p.Burns, "burn"), phrase.Short(p.BurnLength),
		phrase.Count(p.CutBurns, "burn"), phrase.Count(p.Cuts, "place"), phrase.Count(p.JointChanges, "other change"))
	v.offSurface(p.Outside)
	for i := range p.Zones {
		if i == mostZones {
			v.Line("and %d more zones", len(p.Zones)-i)
			break
		}
		v.zone(p, &p.Zones[i])
	}
	v.heads(j)
	if p.SetZ {
		v.datum(j)
	} else {
		v.countedFrom(j)
	}
	v.Line("wrote %s; print %s", dir, dir+string(os.PathSeparator)+"sheet.txt")
}

func (v Voice) zone(p *zone.Plan, z *zone.Zone) {
	set := "to be set at " + phrase.XY(z.Point.X, z.Point.Y)
	if p.SetZ {
		set = "written into Z"
	}
	v.Line("zone %d: %s, lens %s, focus %s mm, %s; %s in %s, %s", z.Order, z.Program,
		p.Lenses[z.Lens].Name, phrase.Signed(z.Focus, 3), set,
		phrase.Count(z.Burns, "burn"), phrase.Count(z.Pieces, "piece"), phrase.Clock(z.Seconds))
	if n := len(z.Raised); n > 0 {
		v.Line("zone %d: it waits %d times (M0) for the lens to be raised by hand, by up to %s mm", z.Order, n, phrase.Up(z.Raise, 2))
	}
	if z.Lift > 0 {
		v.Line("zone %d: travels at the program's ends are lifted by %.3f mm to be clear of the stock", z.Order, z.Lift)
	}
}

// heads says what is known of the head, with each of the lenses.
func (v Voice) heads(j *job.Job) {
	v.head(&j.Head, "travels are clear of the stock under the beam")
	for i := range j.Lenses[1:] {
		switch l := &j.Lenses[i+1]; {
		case j.Machine.HeadRadiusMM == nil || j.Machine.GapMinMM == nil || l.Record == nil:
		case l.Record.StandoffMM == nil:
			v.Line("head clearance not checked with lens %s: it takes standoff_mm of its record", l.Name)
		default:
			v.Line("with lens %s the head's tip is %s mm over best focus", l.Name, phrase.Short(*l.Record.StandoffMM))
		}
	}
}

// Split are the figures of dividing a job; p may be nil where it was refused.
func (g *Figures) Split(p *zone.Plan) {
	if p == nil {
		p = &zone.Plan{}
	}
	var zones []figures
	if g.Verdict != Refused {
		g.Verdict, g.Changed = "split", true
		for i := range p.Zones {
			z := &p.Zones[i]
			zones = append(zones, figures{
				{"program", z.Program},
				{"lens", p.Lenses[z.Lens].Name},
				{"focus_mm", z.Focus},
				{"seconds", z.Seconds},
				{"burns", z.Burns},
				{"pieces", z.Pieces},
				{"burn_length_mm", z.BurnLength},
			})
		}
	}
	g.Figures = figures{
		{"zones", zones},
		{"burns", p.Burns},
		{"burn_length_mm", p.BurnLength},
		{"burns_cut", p.CutBurns},
		{"cuts", p.Cuts},
		{"joint_changes", p.JointChanges},
		{"height_low_mm", p.Low},
		{"height_high_mm", p.High},
	}
}
