package surface

func lerp(a, b, t float64) float64 { return a + (b-a)*t }

// cubicAt evaluates a cubic in Bernstein form by de Casteljau's algorithm.
func cubicAt(a, b, c, d, t float64) float64 {
	ab, bc, cd := lerp(a, b, t), lerp(b, c, t), lerp(c, d, t)
	return lerp(lerp(ab, bc, t), lerp(bc, cd, t), t)
}

// restrict returns the Bernstein coefficients of a cubic over s to t
// instead of 0 to 1; t may be before s, or equal to it. They are the values
// of the cubic's blossom (L. Ramshaw, DEC SRC report 19, 1987).
func restrict(b [4]float64, s, t float64) [4]float64 {
	p0, p1, p2 := lerp(b[0], b[1], s), lerp(b[1], b[2], s), lerp(b[2], b[3], s)
	q0, q1, q2 := lerp(b[0], b[1], t), lerp(b[1], b[2], t), lerp(b[2], b[3], t)
	ss0, ss1 := lerp(p0, p1, s), lerp(p1, p2, s)
	st0, st1 := lerp(p0, p1, t), lerp(p1, p2, t)
	tt0, tt1 := lerp(q0, q1, t), lerp(q1, q2, t)
	return [4]float64{lerp(ss0, ss1, s), lerp(ss0, ss1, t), lerp(st0, st1, t), lerp(tt0, tt1, t)}
}

// restrictTo returns the net over the rectangle u0 to u1, v0 to v1.
func (n *net) restrictTo(u0, u1, v0, v1 float64) net {
	var half, out net
	for j := range 4 {
		half[j] = restrict(n[j], u0, u1)
	}
	for i := range 4 {
		c := restrict([4]float64{half[0][i], half[1][i], half[2][i], half[3][i]}, v0, v1)
		out[0][i], out[1][i], out[2][i], out[3][i] = c[0], c[1], c[2], c[3]
	}
	return out
}

// sextic holds the Bernstein coefficients of a polynomial of degree six.
type sextic [7]float64

// diagonal returns the patch along its diagonal, where products of cubic Bernstein
// polynomials are those of degree six up to a factor.
func (n *net) diagonal() (s sextic) {
	binomial := [4]float64{1, 3, 3, 1}
	six := [7]float64{1, 6, 15, 20, 15, 6, 1}
	for j := range 4 {
		for i := range 4 {
			s[i+j] += binomial[i] * binomial[j] / six[i+j] * n[j][i]
		}
	}
	return s
}

// halve returns the polynomial's coefficients over both halves of its range
// (de Casteljau).
func (s *sextic) halve() (left, right sextic) {
	right = *s
	for k := range 6 {
		left[k] = right[0]
		for i := range 6 - k {
			right[i] = (right[i] + right[i+1]) / 2
		}
	}
	left[6] = right[0]
	return left, right
}

// leaves returns how far the polynomial may go above and below the straight
// line from h0 to h1. It is bounded over each half on its own, which is
// nearly tight.
func leaves(left, right *sextic, h0, h1 float64) (up, down float64) {
	mid := (h0 + h1) / 2
	for k := range 7 {
		t := float64(k) / 6
		a := left[k] - lerp(h0, mid, t)
		b := right[k] - lerp(mid, h1, t)
		up = max(up, a, b)
		down = max(down, -a, -b)
	}
	return up, down
}
