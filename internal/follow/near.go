package follow

// near notes how near the axis comes to the surface under the beam, against
// best focus, at fraction s of the item h: c less the height, by a.
func (p *window) near(c, a float64, h *held, s float64) {
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

// nearLinks does it for the path that is laid: both c and the tube are straight
// between gates, so it is nearest at one.
func (p *window) nearLinks() {
	i := 0
	for k, c := range p.plan.Along(p.tube.gates) {
		for i < len(p.blocks)-1 && int(p.blocks[i].g1) < k {
			i++
		}
		var h *held
		if len(p.blocks) > 0 {
			h = p.blocks[i]
		}
		p.near(c, p.tube.gates[k].High, h, p.tube.gates[k].S)
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
