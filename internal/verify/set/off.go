package set

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
)

// putOn reports the zones whose burns rely on a beam that nothing has put off, where a
// program that comes before theirs has ended with it put off by its word: they would
// mark nothing.
func (w *pairing) putOn() {
	off := "" // the last of the programs so far that ends so
	for k, r := range w.zones {
		program := w.set.Zones[k].Program
		if off != "" && off != program && r.bare > 0 {
			w.res.Zones[k].Fail(verify.Violation{Kind: verify.BeamDiffers, Line: r.bare, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(),
				Detail: "no word puts the beam on before this burn, and " + off + " before it ends with the beam put off"})
		}
		if st := r.end; st.BeamWord != machine.NoBeam && !st.BeamLit {
			off = program
		}
	}
}
