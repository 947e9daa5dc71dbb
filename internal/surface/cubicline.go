package surface

// maxHalvings is maxSplits as a number of halvings.
const maxHalvings = 10

// quickPart is the part of the tolerance under which a bound from the
// second derivative is good enough as it is: short moves, as of a raster,
// are done with it.
const quickPart = 0.25

// cubicLine appends the pieces of a straight stretch in cell i, j of a
// bicubic surface. Along the stretch the height is a polynomial of degree
// six. It is bounded by its Bernstein coefficients, and halved until they
// are within the tolerance.
func (w *walk) cubicLine(i, j int, s0, s1, x0, y0, x1, y1 float64, where Where) {
	p := w.p
	h0 := w.h
	if !w.joined {
		h0 = p.bicubic(i, j, x0, y0) - p.off
	}
	h1 := p.bicubic(i, j, x1, y1) - p.off
	w.h, w.joined = h1, true
	grow := w.beside
	if w.lateral > 0 {
		grow += w.growth(i, j, x0, y0, x1, y1)
	}

	// A function is off its chord by at most an eighth of its greatest
	// second derivative times the length squared.
	dx, dy := x1-x0, y1-y0
	quick := p.bound[j*p.cx+i].curve * (dx*dx + dy*dy) / 8
	if quick <= quickPart*w.tol {
		w.dst = append(w.dst, Piece{S0: s0, S1: s1, H0: h0, H1: h1, Up: quick + grow, Down: quick + grow, Where: where})
		return
	}

	net := p.net(i, j)
	for b := range net {
		for a := range net[b] {
			net[b][a] -= p.off
		}
	}
	nx, ix, ny, iy := p.x.node[i], p.x.inv[i], p.y.node[j], p.y.inv[j]
	whole := net.diagonal((x0-nx)*ix, (y0-ny)*iy, (x1-nx)*ix, (y1-ny)*iy)
	whole[0], whole[6] = h0, h1

	type open struct {
		c     sextic
		level int
	}
	var stack [maxHalvings + 2]open
	stack[0] = open{c: whole}
	n := 1
	done := 0.0 // of the stretch
	sa := s0
	for n > 0 {
		n--
		c, level := stack[n].c, stack[n].level
		left, right := c.halve()
		up, down := leaves(&left, &right, c[0], c[6])
		width := 1 / float64(int(1)<<level)
		if max(up, down) > w.tol && level < maxHalvings && (s1-s0)*width > 2*minPart {
			stack[n] = open{right, level + 1}
			stack[n+1] = open{left, level + 1}
			n += 2
			continue
		}
		done += width
		sb := s1
		if n > 0 {
			sb = s0 + (s1-s0)*done
		}
		w.dst = append(w.dst, Piece{S0: sa, S1: sb, H0: c[0], H1: c[6], Up: up + grow, Down: down + grow, Where: where})
		sa = sb
	}
}
