package say

import (
	"os"
	"slices"

	"sagitta/internal/job"
	"sagitta/internal/setup"
	"sagitta/internal/zone"
)

// Split says what dividing a job came to; follow tells that it was to be
// followed within zones, and proof is what proving it found.
func (v Voice) Split(j *job.Job, p *zone.Plan, follow bool, dir string, proof *job.Proof) {
	var others []job.Lens // of which it can be told how high the head is
	for _, l := range j.Lenses[1:] {
		if j.Machine.Head() != nil && j.Machine.GapMinMM != nil && l.Record != nil {
			others = append(others, l)
		}
	}
	shown := min(len(p.Zones), mostZones)
	var settings []string
	var first setup.Setting
	for i := range p.Zones[:shown] {
		at := p.Setting(&p.Zones[i])
		if l := &p.Lenses[p.Zones[i].Lens]; p.SetZ && !l.Unnamed && len(p.Lenses) > 1 {
			at.Lens.Name = l.Name // it is not said by the zone
		}
		text := at.Text()
		if i == 0 {
			first = at
		} else if !p.SetZ { // the sheet has it all on each page
			text = at.TextAfter(&first)
		}
		if !p.SetZ || !slices.Contains(settings, text) {
			settings = append(settings, text)
		}
	}
	v.tell("split", of{"Job": j, "Plan": p, "InVain": follow && !p.Followed, "Rules": j.Rules.TellCuts(), "Zones": p.Zones[:shown], "Settings": settings, "More": len(p.Zones) - shown,
		"Head": &j.Head, "Instead": "travels are clear of the stock under the beam", "OtherHeads": others,
		"Proof": heldZones(proof.Job, proof.Zones, proof.Result, notKnown(j, proof.Result.Unchecked())), "Dir": dir, "Sheet": dir + string(os.PathSeparator) + "sheet.txt"})
}

// Split are the figures of dividing a job; p and proof may be nil where it was refused.
func (g *Figures) Split(j *job.Job, p *zone.Plan, proof *job.Proof) {
	if p == nil {
		p = &zone.Plan{}
	}
	travels := 0
	var held figures
	if proof != nil {
		travels, held = proof.Result.Unchecked(), setFigures(proof.Job, proof.Zones, proof.Result)
	}
	g.Unchecked = notKnown(j, travels)
	g.Notes = remarks(&p.Remarks)
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
				{"waits", z.Waits},
				{"burns", z.Burns},
				{"pieces", z.Pieces},
				{"burn_length_mm", z.BurnLength},
				{"burns_slowed?", z.Slowed},
				{"burns_slowed_most_pct?", 100 * z.SlowedBy},
			})
		}
	}
	g.Figures = figures{
		{"zones", zones},
		{"order", p.Ordered()},
		{"rules?", matchedFigures(j, p.Remarks.Rules)},
		{"burns", p.Burns},
		{"burn_length_mm", p.BurnLength},
		{"burns_closed", p.Closed.Count},
		{"burns_cut", p.CutBurns},
		{"cuts", p.Cuts},
		{"joint_changes", p.JointChanges},
		{"height_low_mm", p.Low},
		{"height_high_mm", p.High},
		{"proof?", held},
	}
}
