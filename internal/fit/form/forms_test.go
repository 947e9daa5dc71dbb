package form

import (
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/internal/fit/fittest"
	"sagitta/internal/surface"

	"gonum.org/v1/gonum/stat/distuv"
)

// A radius is found within its stated uncertainty: at 95 % confidence about
// 19 times of 20. Binomial with 60 runs: fewer than 51 hits has a chance
// below 0.1 %.
func TestRadiusWithinUncertainty(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	const turn = 0.35 // the axis is askew
	s, c := math.Sincos(turn)
	for _, k := range []struct {
		name   string
		radius float64
		shape  func(x, y float64) float64
	}{
		{"cylinder", 40, func(x, y float64) float64 { w := c*y - s*x; return math.Sqrt(40*40 - w*w) }},
		{"cylinder", 300, func(x, y float64) float64 { w := c*y - s*x - 4; return 7 - sag(1./300, w) }},
		{"cylinder", 50, func(x, y float64) float64 { w := c*y - s*x; return sag(1./50, w) }}, // hollow
		{"sphere", 60, func(x, y float64) float64 { return math.Sqrt(60*60 - (x-3)*(x-3) - (y+5)*(y+5)) }},
		{"cone", 40, fittest.Cone(40, 0.1, 0)},
	} {
		hits := 0
		for range 60 {
			p := fittest.Round(k.shape, 60, 40, 5, 5, 0.02, r)
			f, err := Fit(k.name, p)
			if err != nil {
				t.Fatal(err)
			}
			o := f.Round()
			if math.Abs(o.RadiusMM-k.radius) <= o.RadiusU95MM {
				hits++
			}
			if o.RadiusU95MM > k.radius/3 {
				t.Errorf("%s %v: uncertainty %v says nothing", k.name, k.radius, o.RadiusU95MM)
			}
		}
		if hits < 51 {
			t.Errorf("%s of radius %v: within the stated uncertainty %d of 60 times", k.name, k.radius, hits)
		}
	}
}

// Without noise the forms are found exactly.
func TestFormsExact(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	cyl := func(x, y float64) float64 { // leaning by 0.2
		return 3 + 0.2*x - math.Hypot(1, 0.2)*sag(1./45, y-2)
	}
	for _, k := range []struct {
		name                string
		shape               func(x, y float64) float64
		radius, taper, deg  float64
		hollow              bool
		slope               float64
		nx, ny              int
		radiusTol, taperTol float64
	}{
		{name: "cylinder", shape: cyl, radius: 45, slope: 0.2, nx: 4, ny: 5},
		{name: "cylinder", shape: func(x, y float64) float64 { return cyl(y, -x) }, radius: 45, slope: 0.2, deg: 90, nx: 5, ny: 4},
		{name: "cylinder", shape: func(x, y float64) float64 { return -cyl(x, y) }, radius: 45, slope: -0.2, hollow: true, nx: 4, ny: 5},
		{name: "cone", shape: fittest.Cone(40, 0.08, 0), radius: 40, taper: 0.08, slope: 0.08, nx: 5, ny: 5},
		{name: "cone", shape: func(x, y float64) float64 { return fittest.Cone(40, 0.08, 0)(-x, y) }, radius: 40, taper: -0.08, slope: -0.08, nx: 5, ny: 5},
		{name: "sphere", shape: func(x, y float64) float64 { return math.Sqrt(3600 - x*x - y*y) }, radius: 60, nx: 3, ny: 3},
		{name: "sphere", shape: func(x, y float64) float64 { return -math.Sqrt(3600 - x*x - y*y) }, radius: 60, hollow: true, nx: 3, ny: 3},
	} {
		f, err := Fit(k.name, fittest.Round(k.shape, 60, 40, k.nx, k.ny, 0, r))
		if err != nil {
			t.Fatal(err)
		}
		o := f.Round()
		if math.Abs(o.RadiusMM-k.radius) > 1e-4 || math.Abs(o.Taper-k.taper) > 1e-6 || o.Hollow != k.hollow ||
			math.Abs(o.TopSlope-k.slope) > 1e-6 || k.name != "sphere" && math.Abs(math.Remainder(o.AxisDeg-k.deg, 180)) > 1e-4 {
			t.Errorf("%s: %+v, want %+v", k.name, o, k)
		}
	}
}

// The rise of an arc over its chord: R - √(R² - c²/4), plane geometry.
func TestSagitta(t *testing.T) {
	for _, c := range [][3]float64{{100, 50, 3.175416345}, {500, 300, 23.030399292}} {
		if s := sag(1/c[0], c[1]/2); math.Abs(s-c[2]) > 1e-9 {
			t.Errorf("radius %v, chord %v: %v, want %v", c[0], c[1], s, c[2])
		}
		// The bow that the summary reports is that of a shallow arc.
		r := rand.New(rand.NewPCG(1, 1))
		p := fittest.Round(func(x, y float64) float64 { return -sag(1/(20*c[0]), x) }, c[1], 40, 9, 5, 0, r)
		want := sag(1/(20*c[0]), c[1]/2)
		if f := FlatnessOf(p); math.Abs(f.BowX-want) > 0.002*want || math.Abs(f.BowY) > 1e-9 || math.Abs(f.Twist) > 1e-9 {
			t.Errorf("bow %+v, want %v along x", f, want)
		}
	}
}

// Documentation of the surfalize library: z = sin(2πx/20) has Sa 2/π in the
// limit, Sq 0.70710678 and Sz 2.
func TestTextureOfSine(t *testing.T) {
	var z []float64
	for k := range 20000 {
		z = append(z, math.Sin(2*math.Pi*float64(k)/1000))
	}
	got := TextureOf(z)
	if math.Abs(got.Sa-2/math.Pi) > 1e-5 || math.Abs(got.Sq-0.70710678) > 1e-8 || math.Abs(got.Sz-2) > 1e-12 {
		t.Errorf("%+v", got)
	}
	// At the coarse sampling of that source: 20 steps in a period.
	z = z[:0]
	for k := range 200 {
		z = append(z, math.Sin(2*math.Pi*float64(k)/20))
	}
	if got := TextureOf(z); math.Abs(got.Sa-0.63137515) > 1e-8 || math.Abs(got.Sq-0.70710678) > 1e-8 {
		t.Errorf("%+v", got)
	}
}

// Forms by the least squares of heights, as SciPy 1.10.1 fits them (geometry_fits.csv):
// what is left over, radii and their standard uncertainties. The points are generated:
// no published set could be had.
func TestFormsAgainstScipy(t *testing.T) {
	points, want := map[string][]surface.Point{}, map[string][]float64{}
	for k, row := range fittest.Rows(t, "geometry_points.csv") {
		v := fittest.Numbers(t, row, 1)
		points[row[0]] = append(points[row[0]], surface.Point{X: v[0], Y: v[1], Z: v[2], Line: k})
	}
	for _, row := range fittest.Rows(t, "geometry_fits.csv") {
		if row[1] == "vertical" {
			for len(row) > 3 && row[len(row)-1] == "" {
				row = row[:len(row)-1]
			}
			want[row[0]+" "+row[2]] = fittest.Numbers(t, row, 3)
		}
	}
	near := func(what string, got, want, part float64) {
		if !(math.Abs(got-want) <= part*math.Abs(want)) {
			t.Errorf("%s %.9g, want %.9g", what, got, want)
		}
	}
	for _, name := range []string{"plane", "sphere", "cylinder", "cone"} {
		f, err := Fit(name, points[name])
		if err != nil {
			t.Fatal(err)
		}
		near(name+" rss", f.spread.Squares*f.f.unit*f.f.unit, want[name+" rss"][0], 1e-7)
		switch name {
		case "plane":
			near("slope in x", f.p[1], want["plane b"][0], 1e-6)
			near("sd of it", f.deviation(1), want["plane b"][1], 1e-4)
		case "sphere", "cylinder":
			radius := want[name+" R"]
			near(name+" radius", f.Round().RadiusMM, radius[0], 1e-6)
			student := distuv.StudentsT{Sigma: 1, Nu: float64(f.spread.Free)}.Quantile(0.975)
			near(name+" sd of it", f.Round().RadiusU95MM/student, radius[1], 1e-3)
		}
	}
}
