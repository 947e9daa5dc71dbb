package set

import (
	"math"

	"sagitta/internal/verify"
)

// mostOwed bounds the steps that are kept to be found in the original: far more
// than any job has between two burns.
const mostOwed = 1 << 12

// switches reports whether the step under way is a word that ends the program, or
// switches something but the beam and the air: a tool, or what is not known here.
func (r *zone) switches() bool {
	s := &r.S
	return s.Kind == verify.Word && (!s.Stops || s.Ends()) && !s.OfBeam && !s.OfAir
}

// alien reports the step under way, which the original has not there.
func (r *zone) alien() {
	if r.S.Lit() {
		r.FailUnlit(nil)
		return
	}
	detail := r.S.String() + " is not in the original here"
	if r.S.Waits() && !r.mayWait() {
		detail += ", nor does the list have the program wait there"
	}
	if r.S.Waits() && !r.S.WordOff {
		detail += ", and no word puts the beam off before it"
	}
	r.Res.Fail(verify.Violation{Kind: verify.WordDiffers, Line: r.S.Line, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: detail})
}

// claim finds steps of the original, in order, in what the zone owes; met is called with
// each that is found there.
func (r *zone) claim(steps []verify.Step, met func(i int)) {
	for i := range steps {
		had := r.met
		if r.meet(&steps[i]); r.met > had && met != nil {
			met(i)
		}
	}
}

// meet finds o, a step of the original, in what the zone owes: whole, or in parts.
func (r *zone) meet(o *verify.Step) {
	for covered := 0.0; r.met < len(r.owed); r.met++ {
		s := &r.owed[r.met]
		if s.Kind != o.Kind || s.Kind == verify.Word && !s.SameWord(o) ||
			s.Lit() && (!o.Lit() || s.M.Power != o.M.Power || s.M.PowerFollows != o.M.PowerFollows) {
			return
		}
		if s.Kind == verify.Word {
			r.met++
			return
		}
		p := verify.MatchOf(&s.M, &o.M, covered)
		if s.InPlace() != o.InPlace() || p.Off > r.Tolerance() {
			return
		}
		covered = p.To
	}
}

// settle reports what of owed the original has not.
func (r *zone) settle() {
	now := r.S
	for i := r.met; i < len(r.owed); i++ {
		r.S = r.owed[i]
		r.alien()
	}
	r.S = now
	r.owed, r.met = r.owed[:0], 0
}
