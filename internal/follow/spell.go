package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// zSpeller spells the Z words of a chunk, whose programmed Z is z.
type zSpeller struct {
	w   *writer
	z   float64
	st  *machine.State
	dec int8
	// scale is the decimals' power of ten where numbers may be worked out
	// in short: whole decimals of a mm, in G90. unit is one decimal and
	// whole is z, in the smallest parts of an offset.
	scale, unit, whole float64
}

func (z *zSpeller) init() {
	z.dec = z.w.opt.decimals(z.st.Inches)
	if !z.st.Relative && !z.st.Inches && z.st.Offset.Z == 0 && z.w.opt.ZResolution <= z.w.opt.Decimal(false) && math.Abs(z.z) < shortestZ {
		z.scale, z.unit = math.Pow10(int(z.dec)), math.Pow10(snapDigits-int(z.dec))
		z.whole = math.RoundToEven(z.z * snap)
	}
}

const (
	// shortestZ bounds the Z in mm that are worked out in short.
	shortestZ = 1e4
	// clearOfHalf is how near a half a decimal may be to be rounded in short.
	clearOfHalf = 0.5 - 1e-6
)

// number gives the Z word that leads to the offset want, and the offset that
// it does lead to, as zNumber and reach have them.
func (z *zSpeller) number(want float64) (program.Number, float64) {
	if v := (z.z + want) * z.scale; z.scale > 0 && math.Abs(want) < shortestZ {
		n := math.RoundToEven(v)
		if math.Abs(v-n) < clearOfHalf {
			// Below shortestZ all of this is exact but for the division, so
			// that it is snapped(n/z.scale - z.z).
			return program.Number{Mant: int64(n), Dec: z.dec}, z.offset(n)
		}
	}
	num := z.w.zNumber(z.z+want, z.z, z.dec, z.st)
	return num, z.w.reached(num, z.z, z.z, z.st)
}

// offset is what n whole decimals are off from the programmed Z.
func (z *zSpeller) offset(n float64) float64 { return (n*z.unit - z.whole) / snap }
