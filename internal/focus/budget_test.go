package focus

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// Source: JCGM 100 (the GUM), example H.1, end gauges: standard uncertainties
// of 25, 9.7, 2.9 and 16.6 nm combine to 32 nm; with 16 effective degrees of
// freedom (t = 2.92, table G.2, from memory) U99 is 93 nm
// (the example multiplies the rounded 32 nm).
func TestCombineGivesEndGaugeExample(t *testing.T) {
	u := Combine(25, 9.7, 2.9, 16.6)
	if math.Round(u) != 32 {
		t.Errorf("combined %g nm, want 32", u)
	}
	if U := 2.92 * math.Round(u); math.Round(U) != 93 {
		t.Errorf("expanded %g nm, want 93", U)
	}
	if Combine() != 0 || Combine(3) != 3 {
		t.Error("none combine to 0, one to itself")
	}
}

func sheet() Budget {
	return Budget{
		Lens: Depth{1.2, 1.8}, LensFrom: "short.toml, depth_mm",
		SurfaceError: Term{0.2, "panel.csv"}, FocusSetting: Term{0.2, "bench.toml"}, DepthError: Term{0.1, "short.toml"},
		Backlash: Term{0.05, "bench.toml"}, HalfDecimal: Term{0.0005, "decimals"},
	}
}

func TestUsableByHand(t *testing.T) {
	// 0.2, 0.2 and 0.1 combine to 0.3: U = 0.6.
	const tiny = 1e-12 // rounding of a few operations on numbers near 1
	for _, c := range []struct {
		p         Purpose
		near, far float64
	}{{Checking, 0.6, 1.2}, {Writing, 0.5495, 1.1495}} {
		d, err := sheet().Usable(c.p)
		if err != nil || math.Abs(d.Near-c.near) > tiny || math.Abs(d.Far-c.far) > tiny {
			t.Errorf("purpose %d: %v, %v", c.p, d, err)
		}
	}
	d, err := Budget{Lens: Depth{1.2, 1.8}}.Usable(Writing)
	if err != nil || d != (Depth{1.2, 1.8}) {
		t.Errorf("without terms the lens's depth stays: %v, %v", d, err)
	}
}

func TestSpentNamesLargestTerm(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Budget)
		p      Purpose
		want   string
	}{
		"error":     {func(b *Budget) { b.SurfaceError.MM = 0.9 }, Checking, "most by the error of the surface (0.9 mm, from panel.csv)"},
		"focus":     {func(b *Budget) { b.FocusSetting.MM = 0.7 }, Writing, "setting of the focus (0.7"},
		"depth":     {func(b *Budget) { b.DepthError = Term{0.7, "depth_error_mm"} }, Checking, "error of the depth (0.7 mm, from depth_error_mm)"},
		"backlash":  {func(b *Budget) { b.Backlash.MM = 0.65 }, Writing, "backlash (0.65"},
		"decimal":   {func(b *Budget) { b.HalfDecimal.MM = 0.65 }, Writing, "half the last decimal (0.65"},
		"doubled":   {func(b *Budget) { b.Backlash.MM = 0.79; b.SurfaceError.MM = 0.4 }, Writing, "error of the surface (0.4"},
		"near only": {func(b *Budget) { b.Lens.Near = 0.1 }, Checking, "0.6 mm of each side"},
		"far only":  {func(b *Budget) { b.Lens.Far = 0.1 }, Checking, "0.6 mm of each side"},
	} {
		b := sheet()
		c.change(&b)
		_, err := b.Usable(c.p)
		if !errors.Is(err, ErrSpent) || !diag.Is(err, diag.Setting) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if msg := err.Error(); !strings.Contains(msg, c.want) || strings.Contains(msg, "\n") {
			t.Errorf("%s: %s", name, msg)
		}
	}
}

func TestExactlySpentIsSpent(t *testing.T) {
	b := Budget{Lens: Depth{0.5, 0.5}, Backlash: Term{MM: 0.5}}
	if _, err := b.Usable(Writing); err == nil {
		t.Error("a depth of zero is no depth")
	}
	if d, err := b.Usable(Checking); err != nil || d != b.Lens {
		t.Errorf("the checker does not count backlash: %v, %v", d, err)
	}
}

func TestUsableRefusesBadTerms(t *testing.T) {
	for _, v := range []float64{-0.01, math.NaN(), math.Inf(1)} {
		for i := range 5 {
			b := sheet()
			term := []*Term{&b.SurfaceError, &b.FocusSetting, &b.DepthError, &b.Backlash, &b.HalfDecimal}[i]
			term.MM = v
			_, err := b.Usable(Writing)
			if err == nil || errors.Is(err, ErrSpent) {
				t.Errorf("term %d of %g: %v", i, v, err)
			}
		}
	}
	b := sheet()
	b.Lens.Far = 0
	if _, err := b.Usable(Checking); err == nil {
		t.Error("a lens without depth on a side was taken")
	}
}

// The table is what an operator adds up: it must give the same usable depth.
func TestTableAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		term := func(n string) Term {
			return Term{rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 0.1)).Draw(t, n), n}
		}
		b := Budget{Lens: Depth{rapid.Float64Range(0.5, 3).Draw(t, "near"), rapid.Float64Range(0.5, 3).Draw(t, "far")},
			SurfaceError: term("error"), FocusSetting: term("focus"), DepthError: term("depth"),
			Backlash: term("backlash"), HalfDecimal: term("half")}
		p := rapid.SampledFrom([]Purpose{Checking, Writing}).Draw(t, "purpose")
		d, err := b.Usable(p)
		if err != nil {
			t.Fatal(err)
		}
		by := map[string]Entry{}
		for _, r := range b.Table(p) {
			by[r.Name] = r
		}
		if by["usable, nearer"].MM != d.Near || by["usable, further"].MM != d.Far {
			t.Fatalf("table %v, usable %v", by, d)
		}
		lost := by["expanded uncertainty"].MM + by["backlash"].MM + by["half the last decimal"].MM
		if math.Abs(b.Lens.Near-lost-d.Near) > 1e-12 || math.Abs(b.Lens.Far-lost-d.Far) > 1e-12 {
			t.Fatalf("rows lose %g, usable %v of %v", lost, d, b.Lens)
		}
		if by["error of the surface"].From != "error" || by["setting of the focus"].MM != b.FocusSetting.MM {
			t.Fatalf("rows %v", by)
		}
		if _, linear := by["backlash"]; linear != (p == Writing) {
			t.Fatalf("purpose %d, backlash listed: %v", p, linear)
		}
	})
}

// A height between two steps of the axis is rounded to one of them, and that to a
// decimal of either unit.
func TestHalfDecimalCountsSteps(t *testing.T) {
	const tiny = 1e-12
	for _, c := range []struct {
		mm, inch   int
		resolution float64
		want       float64
		from       string
	}{
		{3, 5, 0, 0.0005, "decimals"},
		{4, 3, 0, 0.0127, "decimals"},
		{3, 5, 0.001, 0.0005, "decimals"}, // no coarser than the decimals
		{3, 5, 0.05, 0.0255, "z_resolution_mm"},
	} {
		var resolution *float64
		if c.resolution > 0 {
			resolution = &c.resolution
		}
		if got := HalfDecimal(c.mm, c.inch, resolution); math.Abs(got.MM-c.want) > tiny || got.From != c.from {
			t.Errorf("%d and %d decimals, steps of %g mm: %+v, not %g from %s", c.mm, c.inch, c.resolution, got, c.want, c.from)
		}
	}
}
