package say

import (
	"os"

	"sagitta/internal/diag"
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
			if p.Followed() {
				how = "followed within"
			}
			over = " over heights from " + phrase.MM(n.Low) + " to " + phrase.MM(n.High) + " mm, " + phrase.Count(n.Zones, "zone") + ", " + how
		}
		v.Line("lens %s, usable depth %s mm: %s%s", n.Name, phrase.SidesMM(n.Usable.Near, n.Usable.Far), phrase.Count(n.Figures, "figure"), over)
	}
	if follow && !p.Followed() {
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
	if p.SetsZ() {
		v.datum(j)
	} else {
		v.countedFrom(j)
	}
	v.Line("wrote %s; print %s", dir, dir+string(os.PathSeparator)+"sheet.txt")
}

func (v Voice) zone(p *zone.Plan, z *zone.Zone) {
	set := "to be set at " + phrase.XY(z.Point.X, z.Point.Y)
	if p.SetsZ() {
		set = "written into Z"
	}
	v.Line("zone %d: %s, lens %s, focus %s mm, %s; %s in %s, %s", z.Order, z.Program,
		p.Lenses[z.Lens].Name, phrase.Signed(z.Focus, 3), set,
		phrase.Count(z.Burns, "burn"), phrase.Count(z.Pieces, "piece"), phrase.Clock(z.Seconds))
	if z.Raises > 0 {
		v.Line("zone %d: it waits %d times (M0) for the lens to be raised by hand, by up to %.2f mm", z.Order, z.Raises, z.Raise)
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

type splitFigures struct {
	Zones        []zoneFigures `json:"zones"`
	Burns        int           `json:"burns"`
	BurnLengthMM float64       `json:"burn_length_mm"`
	BurnsCut     int           `json:"burns_cut"`
	Cuts         int           `json:"cuts"`
	JointChanges int           `json:"joint_changes"`
	HeightLowMM  float64       `json:"height_low_mm"`
	HeightHighMM float64       `json:"height_high_mm"`
}

type zoneFigures struct {
	Program      string  `json:"program"`
	Lens         string  `json:"lens"`
	FocusMM      float64 `json:"focus_mm"`
	Seconds      float64 `json:"seconds"`
	Burns        int     `json:"burns"`
	Pieces       int     `json:"pieces"`
	BurnLengthMM float64 `json:"burn_length_mm"`
}

// Split are the figures of dividing a job; p may be nil where refusal
// says why it could not be done.
func (g *Figures) Split(p *zone.Plan, refusal diag.Refusal) {
	var f splitFigures
	if p != nil {
		f = splitFigures{nil, p.Burns, p.BurnLength, p.CutBurns, p.Cuts, p.JointChanges, p.Low, p.High}
	}
	if refusal != nil {
		g.Verdict, g.Fails = "refused", refusal.Reasons()
	} else {
		g.Verdict, g.Changed = "split", true
		for i := range p.Zones {
			z := &p.Zones[i]
			f.Zones = append(f.Zones, zoneFigures{z.Program, p.Lenses[z.Lens].Name, z.Focus, z.Seconds, z.Burns, z.Pieces, z.BurnLength})
		}
	}
	g.Figures = f
}
