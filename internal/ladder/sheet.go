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

// Sheet gives the sheet to print at its true size, as an SVG in mm: the block
// with each rung's place, a table in the same order to tick, how to judge, and
// cautions.
func (p *Plan) Sheet() []byte {
	c := &svg.Canvas{}
	y := p.sheetHead(c)
	y = p.sheetBlock(c, y)
	y = p.sheetTable(c, y)
	y = p.sheetAdvice(c, y)
	return c.Page(sheetWidth, math.Max(sheetHeight, y+sheetMargin))
}

// sheetHead writes title and settings, and gives the y below.
func (p *Plan) sheetHead(c *svg.Canvas) float64 {
	x, y := sheetMargin, sheetMargin+6
	c.Text(x, y, 8, accent, svg.Bold, "Focus ladder")
	c.Text(sheetWidth-sheetMargin, y, 2.8, faint, svg.End, p.opt.Made)
	y += 7
	powers := make([]string, len(p.opt.PowersPct))
	for i, pct := range p.opt.PowersPct {
		powers[i] = num(pct)
	}
	facts := ""
	if p.opt.LensName != "" {
		facts = "Lens " + p.opt.LensName + ". "
	}
	facts += fmt.Sprintf("Feed %s mm/min, power %s %% of full. %s, %s mm apart, from %s to %s mm and best focus again. Minus is nearer the lens, plus is further from it.",
		num(p.opt.FeedMMMin), strings.Join(powers, ", "), capital(phrase.Count(len(p.Rungs), "rung")), num(p.StepMM), p.offsetText(p.Offsets[0]), p.offsetText(-p.NearestMM))
	return c.Paragraph(x, y, sheetInner, 3.4, ink, facts+" "+p.headText()) + 3
}

// headText says how near the head comes.
func (p *Plan) headText() string {
	text := fmt.Sprintf("The head comes %s mm nearer to the stock than at best focus.", num(p.NearestMM))
	if p.GapKnown {
		text = fmt.Sprintf("The head comes to %s mm from the stock.", num(p.GapMM))
	}
	if n := len(p.ClippedMM); n > 0 {
		text += fmt.Sprintf(" Left out, as the head would come too close: %s to %s mm.", p.offsetText(p.ClippedMM[0]), p.offsetText(p.ClippedMM[n-1]))
	}
	return text
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// sheetBlock draws the block at true size, and beside it (below, where it is
// wide) what to do and what to fill in.
func (p *Plan) sheetBlock(c *svg.Canvas, y float64) float64 {
	const aside = 88.0 // what the notes need
	c.Text(sheetMargin, y, 3.2, accent, svg.Bold, "The block, true size")
	top := y + 3
	// A place in the block, whose y runs up.
	at := func(x, y float64) [2]float64 { return [2]float64{sheetMargin + x, top + p.Height - y} }
	c.Rect(sheetMargin, top, p.Width, p.Height, "none", faint, 0.15)
	draw := func(lines []stroke.Polyline, x, y float64) {
		for _, l := range lines {
			points := make([][2]float64, len(l))
			for i, q := range l {
				points[i] = at(x+q.X, y+q.Y)
			}
			c.Path(points, ink, 0.1)
		}
	}
	for _, l := range p.Labels {
		draw(stroke.Text(l.Text, l.CapMM, l.X, l.Y), 0, 0)
	}
	fig := figure()
	for _, r := range p.Rungs {
		draw(fig, r.X, r.Y)
	}
	end := top + p.Height + 4
	c.Text(sheetMargin, end, 2.6, faint, "", fmt.Sprintf("%s x %s mm; X0 Y0 lower left", num(p.Width), num(p.Height)))
	// A length to hold a rule against.
	const bar = 50.0
	end += 5
	c.Line(sheetMargin, end, sheetMargin+bar, end, ink, 0.3)
	for i := 0.0; i <= bar; i += 10 {
		c.Line(sheetMargin+i, end-1.2, sheetMargin+i, end+1.2, ink, 0.3)
	}
	end += 4.5
	c.Text(sheetMargin, end, 2.6, faint, "", "50 mm, when printed at 100 %")
	end += 4

	left := sheetMargin + math.Max(p.Width, bar) + 10
	notes := top
	if sheetWidth-sheetMargin-left < aside {
		left, notes = sheetMargin, end+4
	}
	wide := sheetWidth - sheetMargin - left
	notes += 3
	for _, what := range []string{"Stock", "Lens", "Date, and who set the focus"} {
		notes = blank(c, left, notes, wide, what)
	}
	for i, s := range p.steps() {
		c.Text(left, notes, 3.2, accent, svg.Bold, fmt.Sprint(i+1))
		notes = c.Paragraph(left+5, notes, wide-5, 3.2, ink, s) + 0.8
	}
	return math.Max(end, notes) + 5
}

// steps say how to mark the ladder.
func (p *Plan) steps() []string {
	zero := "At best focus, set as well as you can by the usual gauge, make " + p.opt.Machine.ZAxis + num(p.opt.StartZMM) + "."
	if p.opt.byHand() {
		zero = "Set best focus as well as you can by the usual gauge, and note where the crank stands. At each pause (M0) set the next offset of the table, always coming down to it, then go on."
	}
	return []string{
		"Lay flat, clean stock of the kind you mean to mark, and see that the head clears it and its clamps.",
		zero,
		"Zero X and Y where the lower left corner of the block is to lie. Try the motion with the beam off.",
		"Mark it. The labels come first, then the rungs from far to near, then best focus again.",
	}
}

// blank is a line to write on, with what goes there before it, and gives the y
// below.
func blank(c *svg.Canvas, x, y, width float64, what string) float64 {
	const size = 3.2
	c.Text(x, y, size, ink, "", what)
	c.Line(x+float64(len(what))*svg.CharWidth*size+1.5, y+0.8, x+width, y+0.8, faint, 0.2)
	return y + 8
}

// sheetTable draws a box for each rung, where it stands in the block.
func (p *Plan) sheetTable(c *svg.Canvas, y float64) float64 {
	rows := len(p.opt.PowersPct)
	many := rows > 1
	c.Text(sheetMargin, y, 3.2, accent, svg.Bold, "Verdicts: tick what is still sharp")
	y += 3
	left := 0.0
	if many {
		left = 13
	}
	wide := math.Min(40, (sheetInner-left)/float64(p.columns))
	longest := 0
	for _, off := range p.Offsets {
		longest = max(longest, len(p.offsetText(off)))
	}
	size := math.Min(4.2, wide/(float64(longest+1)*svg.BoldWidth))
	high := size + 8.5
	if p.opt.cranked() {
		high += 3
	}
	for i, r := range p.Rungs {
		place := p.columnOf(i)
		band, column, row := place/p.columns, place%p.columns, i%rows
		x := sheetMargin + left + float64(column)*wide
		top := y + float64(band)*(float64(rows)*high+4) + float64(row)*high
		fill := "none"
		if r.OffsetMM == 0 {
			fill = tint
		}
		c.Rect(x, top, wide, high, fill, faint, 0.2)
		if many && column == 0 {
			c.Text(sheetMargin, top+high/2+1.2, 3.4, ink, svg.Bold, powerText(r.PowerPct))
		}
		c.Text(x+wide/2, top+size+1.2, size, ink, svg.Middle+svg.Bold, p.offsetText(r.OffsetMM))
		if p.opt.cranked() {
			c.Text(x+wide/2, top+size+4.2, math.Min(2.4, size), ink, svg.Middle, p.divisions(r.OffsetMM)+" div")
		}
		small := math.Min(2.4, size)
		c.Text(x+0.8, top+high-1, small, faint, "", fmt.Sprint(r.No))
		// The box makes room for the number where the column is narrow.
		number := 0.8 + float64(len(fmt.Sprint(r.No)))*svg.BoldWidth*small
		c.Rect(x+math.Max(wide/2-2, number+0.4), top+high-5.4, 4, 4, "#ffffff", ink, 0.3)
	}
	bands := (len(p.Offsets) + p.columns - 1) / p.columns
	y += float64(bands)*(float64(rows)*high+4) - 4 + 4
	legend := "Large: the offset in mm. Small: the rung's number, in the order of burning and in the list of verdicts. Tinted: best focus; the last one repeats it."
	if p.opt.cranked() {
		legend += " div: divisions of the crank from best focus, plus further off."
	}
	return c.Paragraph(sheetMargin, y, sheetInner, 2.6, ink, legend) + 4
}

// divisions writes an offset in divisions of the crank.
func (p *Plan) divisions(off float64) string {
	if n := math.Round(off / *p.opt.Machine.ZStepMM); n != 0 {
		return fmt.Sprintf("%+.0f", n)
	}
	return "0"
}

// sheetAdvice says how to judge, and what to beware of.
func (p *Plan) sheetAdvice(c *svg.Canvas, y float64) float64 {
	c.Text(sheetMargin, y, 3.2, accent, svg.Bold, "How to judge")
	y += 5
	pairs := make([]string, 0, 3)
	for _, d := range PairsMM() {
		pairs = append(pairs, num(d))
	}
	judge := []string{
		"A rung is sharp when all seven digits (" + digits + ", near half a millimetre) read without guessing, in the light and at the distance the work is looked at. The pairs of lines (" + strings.Join(pairs, ", ") + " mm apart, standing and lying) are to stay two lines that differ no more than at best focus, the patch is to keep its corners, the cross its even arms.",
		"Sharp the one way and not the other (standing against lying pairs): the lens or the beam has two foci. Go by the worse.",
		"Too little power looks like out of focus. Where even best focus is faint, mark again with more power before you judge.",
		"If the two figures at best focus differ, something drifted: find it, and mark again. If the sharp rungs do not lie evenly about 0, best focus is at their middle.",
	}
	if len(p.opt.PowersPct) > 1 {
		judge[2] = "Too little power looks like out of focus: compare along a row, at one power, and trust the row where best focus is strong but not charred."
	}
	next := "The limits go into a lens record: sagitta lens rungs --sharp=NEAR,FAR"
	if p.opt.Verdicts != "" {
		next = "Write yes or no for each rung into " + p.opt.Verdicts + "; sagitta lens rungs makes the lens record of it."
	}
	for _, s := range append(judge, next) {
		y = c.Paragraph(sheetMargin, y, sheetInner, 3, ink, s) + 0.6
	}
	y += 2
	caution := "Wear eye protection made for the wavelength, and beware of stock that reflects. Extract the fumes, and know what the stock gives off. Keep an extinguisher at hand, keep clear of moving axes, and never leave a burning machine unattended. Local rules and licensed practice come first."
	high := 7 + float64(len(svg.Lines(caution, sheetInner-6, 3)))*svg.Leading*3 + 1.5
	c.Rect(sheetMargin, y, sheetInner, high, "none", accent, 0.4)
	c.Text(sheetMargin+3, y+5, 3.2, accent, svg.Bold, "Eyes, fumes, fire")
	c.Paragraph(sheetMargin+3, y+9.6, sheetInner-6, 3, ink, caution)
	return y + high
}
