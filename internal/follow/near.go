package follow

// near notes how near the axis comes to the surface under the beam, against
// best focus, at fraction s of the item h: c less the height, by a.
func (p *planner) near(c, a float64, h *held, s float64) {
	v := c - (a - p.opt.Defocus)
	if !(v < p.sum.Nearest) {
		return
	}
	p.sum.Nearest = v
	if h != nil {
		at := h.placeAt(s)
		p.sum.NearestX, p.sum.NearestY, p.sum.NearestLine = at[0], at[1], h.lineAt(s)
	}
}

// nearLinks does it for the links chosen: both c and the tube are straight
// between gates, so it is nearest at one.
func (p *planner) nearLinks() {
	for k := 1; k < len(p.nodes); k++ {
		a, b := p.nodes[k-1], p.nodes[k]
		t := 0.0
		for q := a.gate + 1; q <= b.gate; q++ {
			t += p.gates[q].dt
		}
		c, slope := a.w.Lo, (b.w.Lo-a.w.Lo)/t
		for q := a.gate; ; {
			g := &p.gates[q]
			var h *held
			if g.move >= 0 {
				h = p.blocks[g.move]
			} else if len(p.blocks) > 0 {
				h = p.blocks[0]
			}
			p.near(c, g.a, h, g.s)
			if q++; q > b.gate {
				break
			}
			c += slope * p.gates[q].dt
		}
	}
}

// nearHead does it for the first n blocks of the head.
func (f *runner) nearHead(n int) {
	c := f.head.c
	for _, h := range f.blocks[:n] {
		if h.hasPre {
			c = h.pre
		}
		f.near(min(c, h.c), h.top, h, 1)
		c = h.c
	}
}
