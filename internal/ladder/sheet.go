package ladder

import (
	"fmt"
	"math"

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

// paragraphs writes a text over the sheet's width, with some room after each of
// its paragraphs.
func (p *page) paragraphs(name string, size, after float64) {
	for _, s := range p.ladder.text(name) {
		p.y = p.Paragraph(sheetMargin, p.y, sheetInner, size, ink, s) + after
	}
}

// head writes title and settings.
func (p *page) head() {
	p.Text(sheetMargin, p.y, 8, accent, svg.Bold, "Focus ladder")
	p.Text(sheetWidth-sheetMargin, p.y, 2.8, faint, svg.End, p.ladder.opt.Made)
	p.y += 7
	p.paragraphs("facts", 3.4, 3)
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
	for i, s := range l.text("steps") {
		p.Text(left, notes, 3.2, accent, svg.Bold, fmt.Sprint(i+1))
		notes = p.Paragraph(left+5, notes, wide-5, 3.2, ink, s) + 0.8
	}
	p.y = max(end, notes) + 5
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
	p.paragraphs("legend", 2.6, 4)
}

// advice says how to judge, and what to beware of.
func (p *page) advice() {
	p.heading("How to judge")
	p.y += 5
	p.paragraphs("judge", 3, 0.6)
	p.y += 2
	p.Text(sheetMargin+3, p.y+5, 3.2, accent, svg.Bold, "Eyes, fumes, fire")
	end := p.Paragraph(sheetMargin+3, p.y+9.6, sheetInner-6, 3, ink, p.ladder.text("caution")[0])
	high := end - p.y - 1.1
	p.Rect(sheetMargin, p.y, sheetInner, high, "none", accent, 0.4)
	p.y += high
}
