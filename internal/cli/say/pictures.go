package say

import (
	"fmt"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/report"
	"sagitta/internal/report/page"
)

// draw puts the pictures on a page.
func (r *Reported) draw(p *page.Page) error {
	t := r.Trace
	d := r.Picture(t)
	for _, v := range []struct {
		by              report.By
		id, name, shows string
		table           page.Table
	}{
		{report.ByDefocus, "above-defocus", "defocus", "how much of the depth is spent, with the worst place", page.DepthTable(t)},
		{report.ByZone, "above-zone", "zone", "what each program burns", page.ProgramTable(t)},
		{report.ByC, "above-z", "Z", "how far the focus is moved", page.HeightTable(t)},
	} {
		err := add(&p.Above, page.Picture{ID: v.id, Title: "From above", Switch: v.name, Alt: "The job from above, over the heights of the stock: " + v.shows + ".", Table: v.table},
			func(w report.Width) (*report.Picture, error) { return d.Above(v.by, w) })
		if err != nil {
			return err
		}
	}
	var along []page.Picture
	spent := fmt.Sprintf("%s of %s mm of burns are in focus", phrase.Fixed(t.Share.Within, 1), phrase.Fixed(t.Share.Total, 1))
	if err := add(&along, page.Picture{ID: "path-fixed", Title: "Along the path", Alt: "Along the path: the window of the focus, what is chosen in it, and how fast Z goes.", Table: page.PathTable(t)}, d.Along); err != nil {
		return err
	}
	p.Path = &along[0]
	if t.Before != nil {
		spent += fmt.Sprintf("; as drawn, at one focus, %s of %s mm would be", phrase.Fixed(t.Before.Within, 1), phrase.Fixed(t.Before.Total, 1))
	}
	if err := addNarrow(&p.Others, page.Picture{ID: "shares", Title: "How much is burned how far out of focus", Alt: upper(spent) + ".", Table: page.ShareTable(t)}, d.Shares); err != nil {
		return err
	}
	if d.Lost != nil && d.BurnedMM > 0 {
		slow := fmt.Sprintf("%s of %s mm of burns go more than a tenth slower than in the original.", phrase.Fixed(d.Lost[0], 1), phrase.Fixed(d.BurnedMM, 1))
		if err := addNarrow(&p.Others, page.Picture{ID: "speeds", Title: "How much goes how much slower for the inertia of the axes", Alt: upper(slow), Table: page.LostTable(d.LostBy(), d.BurnedMM)}, d.Speeds); err != nil {
			return err
		}
	}
	for i := range r.Job.Lenses {
		l := &r.Job.Lenses[i]
		title, spends := "What becomes of the depth", d.Spends()
		if len(r.Job.Lenses) > 1 {
			title += " of lens " + l.Name
			spends.Lo, spends.Hi = 1, 0 // of which lens is not told apart
		}
		if r.Job.Rules.Focus() {
			spends.Lo, spends.Hi = 1, 0 // nor of which depth
		}
		alt := fmt.Sprintf("Of %s mm of the lens, %s mm are usable, what is not sure taken off.", phrase.Sides(l.Budget.Lens.Near, l.Budget.Lens.Far), phrase.Sides(l.Checking.Near, l.Checking.Far))
		err := addNarrow(&p.Others, page.Picture{ID: fmt.Sprintf("budget-%d", i+1), Title: title, Alt: alt, Table: budgetTable(l.Budget)},
			func(w report.Width) (*report.Picture, error) {
				return report.BudgetBar(l.Budget, focus.Checking, spends, w)
			})
		if err != nil {
			return err
		}
	}
	return r.drawLenses(p)
}

// drawLenses puts a card of the lenses on a page, where there are records of them.
func (r *Reported) drawLenses(p *page.Page) error {
	var lenses []*record.Lens
	for i := range r.Job.Lenses {
		if l := r.Job.Lenses[i].Record; l != nil {
			lenses = append(lenses, l)
		}
	}
	if len(lenses) == 0 {
		return nil
	}
	curves := Curves(lenses)
	title := "The lens"
	if len(lenses) > 1 {
		title = "The lenses"
	}
	t := page.Table{Head: []string{"Lens", "Sharp, mm", "From", "Tested on"}}
	for _, l := range lenses {
		d, known := l.Depth()
		t.Rows = append(t.Rows, []string{l.Name, depthOf(d, known), d.From, l.TestedOn})
	}
	return addNarrow(&p.Others, page.Picture{ID: "lenses", Title: title, Alt: "How wide the spot is, and how deep the lens is sharp, against Z.", Table: t},
		func(w report.Width) (*report.Picture, error) { return report.LensPicture(curves, w) })
}

// Curves are what is drawn of lenses.
func Curves(lenses []*record.Lens) []report.LensCurve {
	var out []report.LensCurve
	for _, l := range lenses {
		c := report.LensCurve{Name: l.Name}
		c.Waist, c.Rayleigh, _ = l.Beam()
		if d, ok := l.Depth(); ok {
			c.Near, c.Far, c.Assumed = d.Near, d.Far, d.Assumed
		}
		out = append(out, c)
	}
	return out
}

// budgetTable has what a depth is made of.
func budgetTable(b focus.Budget) page.Table {
	t := page.Table{Head: []string{"Part", "mm", "From"}, Right: []bool{false, true, false}}
	for _, e := range b.Table(focus.Checking) {
		t.Rows = append(t.Rows, []string{e.Name, phrase.Fixed(e.MM, 4), e.From})
	}
	return t
}

// add draws a picture for a wide place and for a narrow one.
func add(to *[]page.Picture, p page.Picture, draw func(report.Width) (*report.Picture, error)) error {
	wide, err := inline(p, draw, report.Wide)
	if err != nil {
		return err
	}
	p.Wide = wide
	return addNarrow(to, p, draw)
}

// addNarrow draws a picture for a narrow place, and where it has none for a wide one yet,
// for any.
func addNarrow(to *[]page.Picture, p page.Picture, draw func(report.Width) (*report.Picture, error)) error {
	svg, err := inline(p, draw, report.Narrow)
	if err != nil {
		return err
	}
	if p.Wide == "" {
		p.Wide = svg
	} else {
		p.Narrow = svg
	}
	*to = append(*to, p)
	return nil
}

func inline(p page.Picture, draw func(report.Width) (*report.Picture, error), width report.Width) (string, error) {
	picture, err := draw(width)
	if err != nil {
		return "", err
	}
	return picture.Inline(p.Title, p.Alt)
}
