package set

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// lies is how a burn of a zone lies on one of the original: it covers the
// fractions from and to of it, and with ends set up to its end.
type lies struct {
	from, to float64
	ends     bool
}

// goesOn says how the zone's next burn lies on o, and whether it goes on there from the
// fraction that is covered.
func (r *zone) goesOn(o *verify.Step, covered float64) (lies, bool) {
	if l, ok := r.onPoint(o); ok || o.M.Length == 0 || r.S.M.Length == 0 {
		return l, ok
	}
	tol := r.Tolerance()
	if math.Abs(verify.Fraction(&o.M, r.S.M.From, covered)-covered) > tol/o.M.Length {
		return lies{}, false
	}
	return r.beginsAt(o, covered, tol)
}

// anywhere says how the zone's next burn lies on o, and whether it does, wherever it
// begins.
func (r *zone) anywhere(o *verify.Step) (lies, bool) {
	if l, ok := r.onPoint(o); ok || o.M.Length == 0 || r.S.M.Length == 0 {
		return l, ok
	}
	tol := r.Tolerance()
	slack := tol / o.M.Length
	const middle = 0.5
	from := verify.Fraction(&o.M, r.S.M.From, middle)
	if turn := 2 * math.Pi; o.M.Kind == machine.Arc && from > 1-slack && from-turn/math.Abs(o.M.Sweep) > -slack {
		from -= turn / math.Abs(o.M.Sweep) // the end of a full circle is its begin
	}
	switch {
	case !(from >= -slack && from < 1):
		return lies{}, false
	case from <= slack:
		from = 0
	}
	return r.beginsAt(o, from, tol)
}

// onPoint says so of burns without length.
func (r *zone) onPoint(o *verify.Step) (lies, bool) {
	m, om := &r.S.M, &o.M
	same := r.S.Kind == o.Kind && om.Length == 0 && m.Length == 0 && math.Hypot(m.To.X-om.To.X, m.To.Y-om.To.Y) <= r.Tolerance() &&
		(o.Kind != verify.Dwell || verify.SameTime(m.Seconds, om.Seconds))
	return lies{0, 1, true}, same
}

// beginsAt says so of one that begins at a fraction of o.
func (r *zone) beginsAt(o *verify.Step, from, tol float64) (lies, bool) {
	if r.S.Kind != o.Kind {
		return lies{}, false
	}
	p := verify.MatchOf(&r.S.M, &o.M, from)
	if p.Off > tol || p.To <= from {
		return lies{}, false
	}
	return lies{from, p.To, p.Ends(o, tol)}, true
}

// exact reports whether the zone's next burn is, as a part of o, just as it should be:
// then it is no part of another that lies there as well.
func (r *zone) exact(o *verify.Step, l lies) bool {
	if !r.SameSpeed(o) || !r.SameDose(o) || r.S.Mist != o.Mist || r.S.Flood != o.Flood {
		return false
	}
	if r.CutTwice {
		return true
	}
	z0, z1 := zOn(o, l)
	want := 0.0
	if r.written != nil {
		want = r.Opt.Sigma() * *r.written
	}
	return math.Abs(r.S.M.From.Z-z0-want) <= r.LastZ() && math.Abs(r.S.M.To.Z-z1-want) <= r.LastZ()
}

// zOn is the Z of the original at both ends of what lies on o.
func zOn(o *verify.Step, l lies) (z0, z1 float64) {
	at := func(s float64) float64 { return o.M.From.Z + (o.M.To.Z-o.M.From.Z)*s }
	if l.ends {
		return at(l.from), o.M.To.Z
	}
	return at(l.from), at(l.to)
}
