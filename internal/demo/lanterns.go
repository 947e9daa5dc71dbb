package demo

// The row of lanterns under the title, in mm.
const (
	lanternX, lanternY = 25.0, 143.5
	lanternPitch       = 9.0
	lanternCount       = 12
)

// lanterns burns one ornament again and again, in relative moves. All its
// numbers are whole tenths: the row ends where it should.
func (p *pen) lanterns() {
	p.beam(small, "M4", "a row of lanterns, relative")
	p.power, p.feed = 540, 1800
	p.travel(lanternX, lanternY)
	p.raw("g91")
	p.relative = true
	for i := range lanternCount {
		x, y := lanternX+lanternPitch*float64(i), lanternY
		if i > 0 {
			p.travel(x, y)
		}
		p.line(x+4, y)
		p.line(x+4.6, y+5)
		p.arc(true, x-0.6, y+5, x+2, y+4.1)
		p.line(x, y)
		p.travel(x-0.6, y+5)
		p.line(x+4.6, y+5)
		p.travel(x+2, y+1)
		p.radiusArc(true, x+2, y+4, 2.2)
		p.radiusArc(true, x+2, y+1, 2.2)
		p.remark("flame")
		p.circle(false, x+2, y+7.7, 0.8)
	}
	p.raw("g90")
	p.relative = false
	p.off()
}
