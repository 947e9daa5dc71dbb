package ladder

import (
	"fmt"
	"math"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/stroke"
	"sagitta/internal/svg"
)

// Sizes of the sheet in mm: A4 upright, longer only where a large ladder needs
// it.
const (
	sheetWidth, sheetHeight = 210.0, 297.0
	sheetMargin             = 14.0
	sheetInner              = sheetWidth - 2*sheetMargin
)

// The sheet's inks. It has to come off any printer, so nothing hangs on them.
const (
	ink    = "#1c1c1c"
	faint  = "#8a8a8a"
	accent = "#7a3b12"
	tint   = "#f6ede4"
)

// page is the sheet in the making; y is where it goes on.
type page struct {
	svg.Canvas
	ladder *Ladder
	y      float64
}

// Sheet gives the sheet to print at its true size, as an SVG in mm: the block
// with each rung's place, a table in the same order to tick, how to judge, and
// cautions.
func (l *Ladder) Sheet() []byte {
	p := &page{ladder: l, y: sheetMargin + 6}
	p.head()
	p.block()
	p.table()
	p.advice()
	return p.Page(sheetWidth, max(sheetHeight, p.y+sheetMargin))
}

// heading writes what comes next.
func (p *page) heading(text string) {
	p.Text(sheetMargin, p.y, 3.2, accent, svg.Bold, text)
}

// paragraph writes text over the sheet's width.
func (p *page) paragraph(size float64, text string) {
	p.y = p.Paragraph(sheetMargin, p.y, sheetInner, size, ink, text)
}

// head writes title and settings.
func (p *page) head() {
	l, o := p.ladder, &p.ladder.opt
	p.Text(sheetMargin, p.y, 8, accent, svg.Bold, "Focus ladder")
	p.Text(sheetWidth-sheetMargin, p.y, 2.8, faint, svg.End, o.Made)
	p.y += 7
	facts := ""
	if o.LensName != "" {
		facts = "Lens " + o.LensName + ". "
	}
	facts += fmt.Sprintf("Feed %s mm/min, power %s %% of full. %s, %s mm apart, from %s to %s mm and best focus again. Minus is nearer the lens, plus is further from it. ",
		num(o.FeedMMMin), nums(o.PowersPct), phrase.Count(len(l.Rungs), "rung"), num(l.StepMM), l.offsetText(l.Offsets[0]), l.offsetText(-l.NearestMM))
	p.paragraph(3.4, facts+l.headText())
	p.y += 3
}

// nums writes numbers between commas.
func nums(v []float64) string {
	text := make([]string, len(v))
	for i, v := range v {
		text[i] = num(v)
	}
	return strings.Join(text, ", ")
}

// headText says how near the head comes.
func (l *Ladder) headText() string {
	text := fmt.Sprintf("The head comes %s mm nearer to the stock than at best focus.", num(l.NearestMM))
	if l.GapMM != nil {
		text = fmt.Sprintf("The head comes to %s mm from the stock.", num(*l.GapMM))
	}
	if n := len(l.ClippedMM); n > 0 {
		text += fmt.Sprintf(" Left out, as the head would come too close: %s to %s mm.", l.offsetText(l.ClippedMM[0]), l.offsetText(l.ClippedMM[n-1]))
	}
	return text
}

// block draws the block at true size, and beside it (below, where it is
// wide) what to do and what to fill in.
func (p *page) block() {
	const aside = 88.0 // what the notes need
	l := p.ladder
	p.heading("The block, true size")
	top := p.y + 3
	p.Rect(sheetMargin, top, l.Width, l.Height, "none", faint, 0.15)
	// The block's y runs up.
	draw := func(lines []stroke.Polyline, x, y float64) {
		for _, line := range lines {
			points := make([][2]float64, len(line))
			for i, q := range line {
				points[i] = [2]float64{sheetMargin + (x + q.X), top + l.Height - (y + q.Y)}
			}
			p.Path(points, ink, 0.1)
		}
	}
	for _, label := range l.Labels {
		draw(stroke.Text(label.Text, label.CapMM, label.X, label.Y), 0, 0)
	}
	for _, r := range l.Rungs {
		draw(figure(), r.X, r.Y)
	}
	end := top + l.Height + 4
	p.Text(sheetMargin, end, 2.6, faint, "", fmt.Sprintf("%s x %s mm; X0 Y0 lower left", num(l.Width), num(l.Height)))
	// A length to hold a rule against.
	const bar = 50.0
	end += 5
	p.Line(sheetMargin, end, sheetMargin+bar, end, ink, 0.3)
	for i := 0.0; i <= bar; i += 10 {
		p.Line(sheetMargin+i, end-1.2, sheetMargin+i, end+1.2, ink, 0.3)
	}
	end += 4.5
	p.Text(sheetMargin, end, 2.6, faint, "", "50 mm, when printed at 100 %")
	end += 4

	left, notes := sheetMargin+max(l.Width, bar)+10, top
	if sheetWidth-sheetMargin-left < aside {
		left, notes = sheetMargin, end+4
	}
	wide := sheetWidth - sheetMargin - left
	notes += 3
	for _, what := range []string{"Stock", "Lens", "Date, and who set the focus"} {
		p.Text(left, notes, 3.2, ink, "", what)
		p.Line(left+float64(len(what))*svg.CharWidth*3.2+1.5, notes+0.8, left+wide, notes+0.8, faint, 0.2)
		notes += 8
	}
	for i, s := range l.steps() {
		p.Text(left, notes, 3.2, accent, svg.Bold, fmt.Sprint(i+1))
		notes = p.Paragraph(left+5, notes, wide-5, 3.2, ink, s) + 0.8
	}
	p.y = max(end, notes) + 5
}

// steps say how to mark the ladder.
func (l *Ladder) steps() []string {
	zero := "At best focus, set as well as you can by the usual gauge, make " + l.opt.Machine.ZAxis + num(l.opt.StartZMM) + "."
	if l.opt.byHand() {
		zero = "Set best focus as well as you can by the usual gauge, and note where the crank stands. At each pause (M0) set the next offset of the table, always coming down to it, then go on."
	}
	return []string{
		"Lay flat, clean stock of the kind you mean to mark, and see that the head clears it and its clamps.",
		zero,
		"Zero X and Y where the lower left corner of the block is to lie. Try the motion with the beam off.",
		"Mark it. The labels come first, then the rungs from far to near, then best focus again.",
	}
}

// table draws a box for each rung, where it stands in the block.
func (p *page) table() {
	l := p.ladder
	rows := len(l.opt.PowersPct)
	p.heading("Verdicts: tick what is still sharp")
	p.y += 3
	left := 0.0
	if rows > 1 {
		left = 13
	}
	wide := min(40, (sheetInner-left)/float64(l.columns))
	longest := 0
	for _, off := range l.Offsets {
		longest = max(longest, len(l.offsetText(off)))
	}
	size := min(4.2, wide/(float64(longest+1)*svg.BoldWidth))
	small := min(2.4, size)
	high := size + 8.5
	if l.opt.cranked() {
		high += 3
	}
	for i, r := range l.Rungs {
		place := l.columnOf(i)
		band, column, row := place/l.columns, place%l.columns, i%rows
		x := sheetMargin + left + float64(column)*wide
		top := p.y + float64(band)*(float64(rows)*high+4) + float64(row)*high
		fill := "none"
		if r.OffsetMM == 0 {
			fill = tint
		}
		p.Rect(x, top, wide, high, fill, faint, 0.2)
		if rows > 1 && column == 0 {
			p.Text(sheetMargin, top+high/2+1.2, 3.4, ink, svg.Bold, powerText(r.PowerPct))
		}
		p.Text(x+wide/2, top+size+1.2, size, ink, svg.Middle+svg.Bold, l.offsetText(r.OffsetMM))
		if l.opt.cranked() {
			p.Text(x+wide/2, top+size+4.2, small, ink, svg.Middle, phrase.Offset(math.Round(r.OffsetMM / *l.opt.Machine.ZStepMM))+" div")
		}
		p.Text(x+0.8, top+high-1, small, faint, "", fmt.Sprint(r.No))
		// The box makes room for the number where the column is narrow.
		number := 0.8 + float64(len(fmt.Sprint(r.No)))*svg.BoldWidth*small
		p.Rect(x+max(wide/2-2, number+0.4), top+high-5.4, 4, 4, "#ffffff", ink, 0.3)
	}
	bands := (len(l.Offsets) + l.columns - 1) / l.columns
	p.y += float64(bands) * (float64(rows)*high + 4)
	legend := "Large: the offset in mm. Small: the rung's number, in the order of burning and in the list of verdicts. Tinted: best focus; the last one repeats it."
	if l.opt.cranked() {
		legend += " div: divisions of the crank from best focus, plus further off."
	}
	p.paragraph(2.6, legend)
	p.y += 4
}

// advice says how to judge, and what to beware of.
func (p *page) advice() {
	l := p.ladder
	p.heading("How to judge")
	p.y += 5
	power := "Too little power looks like out of focus. Where even best focus is faint, mark again with more power before you judge."
	if len(l.opt.PowersPct) > 1 {
		power = "Too little power looks like out of focus: compare along a row, at one power, and trust the row where best focus is strong but not charred."
	}
	next := "The limits go into a lens record: sagitta lens rungs --sharp=NEAR,FAR"
	if l.opt.Verdicts != "" {
		next = "Write yes or no for each rung into " + l.opt.Verdicts + "; sagitta lens rungs makes the lens record of it."
	}
	for _, s := range []string{
		"A rung is sharp when all seven digits (" + digits + ", near half a millimetre) read without guessing, in the light and at the distance the work is looked at. The pairs of lines (" + nums(PairsMM()) + " mm apart, standing and lying) are to stay two lines that differ no more than at best focus, the patch is to keep its corners, the cross its even arms.",
		"Sharp the one way and not the other (standing against lying pairs): the lens or the beam has two foci. Go by the worse.",
		power,
		"If the two figures at best focus differ, something drifted: find it, and mark again. If the sharp rungs do not lie evenly about 0, best focus is at their middle.",
		next,
	} {
		p.paragraph(3, s)
		p.y += 0.6
	}
	p.y += 2
	caution := "Wear eye protection made for the wavelength, and beware of stock that reflects. Extract the fumes, and know what the stock gives off. Keep an extinguisher at hand, keep clear of moving axes, and never leave a burning machine unattended. Local rules and licensed practice come first."
	p.Text(sheetMargin+3, p.y+5, 3.2, accent, svg.Bold, "Eyes, fumes, fire")
	end := p.Paragraph(sheetMargin+3, p.y+9.6, sheetInner-6, 3, ink, caution)
	high := end - p.y - 1.1
	p.Rect(sheetMargin, p.y, sheetInner, high, "none", accent, 0.4)
	p.y += high
}
