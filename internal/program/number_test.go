package program

import (
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func genNumber(t *rapid.T) Number {
	dec := int8(rapid.IntRange(0, 18).Draw(t, "dec"))
	m := rapid.OneOf(
		rapid.Int64Range(-maxMant, maxMant),
		rapid.Int64Range(-5000, 5000),
		rapid.Custom(func(t *rapid.T) int64 { // around powers of two and ten
			k := rapid.Int64Range(-3, 3).Draw(t, "off")
			if rapid.Bool().Draw(t, "two") {
				return 1<<rapid.IntRange(0, 59).Draw(t, "p") + k
			}
			return pow10[rapid.IntRange(0, 17).Draw(t, "p")] + k
		}),
	).Draw(t, "mant")
	return Number{m, dec}
}

func rat(n Number) *big.Rat { return big.NewRat(n.Mant, pow10[n.Dec]) }

func TestFloatIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := genNumber(t)
		want, _ := rat(n).Float64()
		if got := n.Float(); got != want {
			t.Errorf("%v: %v, want %v", n, got, want)
		}
	})
}

func TestCmp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, m := genNumber(t), genNumber(t)
		if rapid.Bool().Draw(t, "near") {
			if at, ok := n.At(min(n.Dec+2, 18)); ok {
				m = at
				m.Mant += rapid.Int64Range(-1, 1).Draw(t, "off")
			}
		}
		if got, want := n.Cmp(m), rat(n).Cmp(rat(m)); got != want {
			t.Errorf("%v cmp %v: %d, want %d", n, m, got, want)
		}
	})
}

func TestAtIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := genNumber(t)
		dec := int8(rapid.IntRange(-1, 19).Draw(t, "to"))
		got, ok := n.At(dec)
		if ok && (got.Dec != dec || rat(got).Cmp(rat(n)) != 0) {
			t.Errorf("%v at %d is %v", n, dec, got)
		}
		if !ok && dec >= 0 && dec <= 18 {
			scaled := new(big.Rat).Mul(rat(n), new(big.Rat).SetInt64(pow10[dec]))
			if scaled.IsInt() && scaled.Num().IsInt64() {
				t.Errorf("%v has %d decimals, but was refused", n, dec)
			}
		}
		if trimmed := n.Trim(); rat(trimmed).Cmp(rat(n)) != 0 || trimmed.Dec > 0 && trimmed.Mant%10 == 0 {
			t.Errorf("%v trimmed is %v", n, trimmed)
		}
		if (Number{-n.Mant, n.Dec}).Cmp(n) != -n.Sign() || rat(n).Sign() != n.Sign() {
			t.Errorf("sign of %v", n)
		}
	})
}

func TestRoundIsNearest(t *testing.T) {
	half := big.NewRat(1, 2)
	rapid.Check(t, func(t *rapid.T) {
		dec := int8(rapid.IntRange(0, 12).Draw(t, "dec"))
		v := rapid.OneOf(
			rapid.Float64Range(-1e5, 1e5),
			rapid.Float64(),
			rapid.Float64Range(1e14, 2e18),
			rapid.Custom(func(t *rapid.T) float64 { // at and beside halves
				n := rapid.Int64Range(-1e7, 1e7).Draw(t, "n")
				f := (float64(n) + 0.5) / float64(pow10[dec])
				for range rapid.IntRange(0, 2).Draw(t, "ulps") {
					f = math.Nextafter(f, rapid.SampledFrom([]float64{-1e9, 1e9}).Draw(t, "to"))
				}
				return f
			}),
		).Draw(t, "v")
		n := Round(v, dec)
		if math.Abs(v) >= 1e5 && n.Dec < dec {
			dec = n.Dec
		}
		if n.Dec != dec {
			t.Fatalf("%v has not %d decimals", n, dec)
		}
		if math.Abs(v) >= maxMant {
			if n.Mant != int64(math.Copysign(1, v))*maxMant {
				t.Fatalf("%v rounded to %v", v, n)
			}
			return
		}
		off := new(big.Rat).Sub(new(big.Rat).SetFloat64(v), rat(n))
		off.Abs(off).Mul(off, new(big.Rat).SetInt64(pow10[dec]))
		if c := off.Cmp(half); c > 0 || c == 0 && n.Mant%2 != 0 {
			t.Errorf("%v rounded to %v", v, n)
		}
	})
}

func TestAppendReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := genNumber(t)
		if got := decimal(n.String()); got != n {
			t.Errorf("%+v was written %q and read as %+v", n, n.String(), got)
		}
		f, err := strconv.ParseFloat(n.String(), 64)
		if err != nil || f != n.Float() {
			t.Errorf("%q: %v, %v", n.String(), f, err)
		}
	})
	for n, want := range map[Number]string{
		{0, 0}: "0", {0, 3}: "0.000", {-5, 1}: "-0.5", {12500, 3}: "12.500", {-120, 0}: "-120",
	} {
		if n.String() != want {
			t.Errorf("%+v is %q, want %q", n, n.String(), want)
		}
	}
}
