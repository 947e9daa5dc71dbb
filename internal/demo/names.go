package demo

import "sagitta/internal/stroke"

// text burns a line of text from x, y at an angle in degrees.
func (p *pen) text(s string, capMM, x, y, deg float64) {
	for _, line := range stroke.Text(s, capMM, x, y, deg) {
		p.polyline(line)
	}
}

// label is a text and where it stands.
type label struct {
	text           string
	capMM, x, y    float64
	deg            float64
	feed, strength int64
}

// lettering burns the title, the notes and the names of places.
func (p *pen) lettering() {
	p.beam(plain, "M4", "lettering")
	for _, l := range labels() {
		p.comment(l.text)
		p.power, p.feed = l.strength, l.feed
		p.text(l.text, l.capMM, l.x, l.y, l.deg)
	}
	p.comment("soundings")
	p.power, p.feed = 520, 1500
	for _, l := range soundings() {
		p.text(l.text, l.capMM, l.x, l.y, l.deg)
	}
	p.scaleBar()
	p.off()
}

// scaleBar burns a bar of twelve fields of 5 mm, every other one hatched.
func (p *pen) scaleBar() {
	const x0, y0, field, thick = 22.0, 22.0, 5.0, 1.6
	p.comment("scale")
	p.polyline([]stroke.Point{{X: x0, Y: y0}, {X: x0 + 12*field, Y: y0}, {X: x0 + 12*field, Y: y0 + thick},
		{X: x0, Y: y0 + thick}, {X: x0, Y: y0}})
	for i := range 12 {
		x := x0 + field*float64(i)
		p.polyline([]stroke.Point{{X: x, Y: y0}, {X: x, Y: y0 + thick}})
		for k := 1; k < 8 && i%2 == 0; k++ {
			y := y0 + thick*float64(k)/8
			p.polyline([]stroke.Point{{X: x, Y: y}, {X: x + field, Y: y}})
		}
	}
}

func labels() []label {
	// Fine lines want less power than a title.
	big := func(s string, capMM, x, y float64) label {
		return label{s, capMM, x, y, 0, 1800, 640}
	}
	name := func(s string, capMM, x, y, deg float64) label {
		return label{s, capMM, x, y, deg, 1500, 520}
	}
	return []label{
		// A title of one stroke would look thin beside the names.
		big(title, 12, 24, 165),
		big(title, 12, 24.3, 165),
		big(title, 12, 24.15, 165.26),
		big("from Wickfold Wharf to Tallow Mere, with its locks and basins", 3.6, 24.5, 156.5),
		name("Wickfold Wharf", 3.2, 16.5, 69.5, 0),
		name("Damper's Bridge", 3, 68, 64, 0),
		name("Snuffer's Lock", 3, 76, 105, 0),
		name("Moth Basin", 3, 106.5, 101.5, -35),
		name("Cold Hearth Reach", 3, 115, 69, 0),
		name("Ember Lock", 3, 153.5, 94.5, 40),
		name("Glim Bridge", 3, 183, 115.5, 0),
		name("TALLOW MERE", 4, 221, 130.5, 0),
		name("Soot Hill", 3, 33, 86.5, 0),
		name("Tinder Down", 3, 135, 145, 0),
		name("Chandler's Heath", 3, 178, 134, 0),
		name("Bellows Knoll", 3, 117, 16.5, 0),
		name("Spill Wood", 3, 167, 77.5, 0),
		name("Wax Brook", 2.8, 201, 24, 0),
		name("Upper Wax", 2.8, 252, 161, 0),
		name("SOUNDINGS IN HANDS AT THE SUMMER LEVEL", 2.5, 22, 48, 0),
		name("The cut is drawn double, its towing path broken", 2.5, 22, 43, 0),
		name("Locks point uphill: the rise is 3 to 5 hands each", 2.5, 22, 38, 0),
		name("Lanterns are lit from dusk at every lock", 2.5, 22, 33, 0),
		name("0", 2.5, 22, 25.5, 0),
		name("1", 2.5, 51.5, 25.5, 0),
		name("2 furlongs", 2.5, 81, 25.5, 0),
	}
}

// soundings are the depths along the cut and in the mere: the deeper, the
// further from the wharf.
func soundings() []label {
	var all []label
	at := func(s string, x, y float64) {
		const capMM = 2.5
		all = append(all, label{text: s, capMM: capMM, x: x - stroke.Width(s, capMM)/2, y: y - capMM/2})
	}
	depths := []string{"4.5", "5", "5.5", "5", "6", "6.5", "6", "7", "7.5", "7", "8", "8.5", "8", "9", "9.5"}
	legs := course()
	for i, s := range depths {
		x, y := beside(legs, (float64(i)+0.6)/float64(len(depths)), -6.5)
		at(s, x, y)
	}
	for i, s := range []string{"14", "18", "16", "12"} {
		at(s, mereX-10+11*float64(i), mereY-19.5+float64(i%2))
	}
	return all
}
