package surface

import (
	"math"
	"testing"

	"sagitta/internal/diag"
)

func square(t *testing.T, h Header, z string) *Surface {
	t.Helper()
	return gridOf(t, h, ",0,10,20\n0,"+z+"\n10,"+z+"\n30,"+z+"\n")
}

func datum(x, y float64) Header { return Header{Datum: &[2]float64{x, y}} }

func TestDatum(t *testing.T) {
	for _, c := range []struct {
		name   string
		header Header
		z      string
		at     Placement
		off    float64
		err    string
	}{
		{name: "none", z: "1,2,3"},
		{name: "option", z: "1,2,3", at: Placement{Datum: &[2]float64{15, 3}}, off: 2.5},
		{name: "option is in program XY", z: "1,2,3", at: Placement{Datum: &[2]float64{115, 3}, ShiftX: 100}, off: 2.5},
		{name: "file's", header: datum(5, 5), z: "1,2,3", off: 1.5},
		{name: "file's is in its own XY", header: datum(5, 5), z: "1,2,3", at: Placement{ShiftX: 100, RotateDeg: 90}, off: 1.5},
		{name: "option over file's", header: datum(5, 5), z: "1,2,3", at: Placement{Datum: &[2]float64{10, 0}}, off: 2},
		{name: "down", header: datum(5, 5), z: "-1,-2,-3", off: -1.5},
		{name: "far", z: "61,62,63", err: "heights lie between 61 and 63 mm, all far from zero; say where they count from with a datum"},
		{name: "far below", z: "-61,-62,-63", err: "heights lie between -63 and -61 mm, all far from zero; say where they count from with a datum"},
		{name: "far with datum", header: datum(0, 0), z: "61,62,63", off: 61},
		{name: "not beyond 5 mm", z: "5,5,5"},
		{name: "just beyond 5 mm", z: "5.001,5.001,5.001", err: "heights lie between 5.001 and 5.001 mm, all far from zero; say where they count from with a datum"},
		{name: "not beyond three ranges", z: "9,10,12"},
		{name: "just beyond three ranges", z: "9.1,10,12", err: "heights lie between 9.1 and 12 mm, all far from zero; say where they count from with a datum"},
		{name: "both sides of zero", z: "-60,0,60"},
		{name: "far with a hole", z: "61,,63", err: "heights lie between 61 and 63 mm, all far from zero; say where they count from with a datum"},
		{name: "off the surface", z: "1,2,3", at: Placement{Datum: &[2]float64{21, 0}}, err: "datum 21,0 is off the surface; choose a point on it"},
		{name: "in a hole", z: "1,2,", at: Placement{Datum: &[2]float64{15, 0}}, err: "datum 15,0 is in a hole of the surface; choose a point with measured heights around it"},
		{name: "at a hole's border", z: "1,2,", at: Placement{Datum: &[2]float64{10, 3}}, off: 2},
		{name: "no number", z: "1,2,3", at: Placement{Datum: &[2]float64{math.NaN(), 0}}, err: "datum NaN,0 is not within 1e+06 mm of zero"},
		{name: "bicubic", z: "1,2,4", at: Placement{Datum: &[2]float64{5, 5}, Method: "bicubic"}, off: 1.375}, // parabola
	} {
		p, err := Place(square(t, c.header, c.z), c.at)
		switch {
		case c.err != "":
			if !diag.Is(err, diag.Setting) || err.Error() != c.err {
				t.Errorf("%s: %v", c.name, err)
			}
		case err != nil:
			t.Errorf("%s: %v", c.name, err)
		case math.Abs(p.off-c.off) > 1e-14:
			t.Errorf("%s: offset %v, want %v", c.name, p.off, c.off)
		default:
			x, y := p.Program(20, 30)
			if h, _ := p.At(x, y); p.s.Missing() == 0 && math.Abs(h-(p.s.Height(2, 2)-c.off)) > 1e-14 {
				t.Errorf("%s: height %v", c.name, h)
			}
		}
	}
}

func TestPlaceRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		header Header
		z      string
		at     Placement
		kind   diag.Kind
		err    string
	}{
		{"method of the file", Header{Method: "sphere"}, "1,2,3", Placement{}, diag.Unsupported, "f:2:11: method sphere is not supported without a fit; use bilinear or bicubic"},
		{"method option", Header{}, "1,2,3", Placement{Method: "auto"}, diag.Setting, "method auto is not supported without a fit; use bilinear or bicubic"},
		{"unknown method", Header{}, "1,2,3", Placement{Method: "best"}, diag.Setting, `method "best" does not exist; use bilinear, bicubic, smooth, plane, cylinder, cone, sphere or auto`},
		{"wrapped too soon", Header{WrapsYMM: 15}, "1,2,3", Placement{}, diag.Malformed, "f:1:15: the rows cover 30 mm, more than the 15 mm after which the surface is to repeat"},
		{"wrapped half way", Header{WrapsYMM: 90}, "1,2,3", Placement{}, diag.Malformed, "f:1:15: the rows leave 60 mm of each turn of 90 mm without a height; measure all round"},
		{"bicubic with a hole, by option", Header{}, "1,,3", Placement{Method: "bicubic"}, diag.Setting, "f: bicubic needs every height, 3 are missing; use the method bilinear"},
		{"bicubic with a hole, by the file", Header{Method: "bicubic"}, "1,,3", Placement{}, diag.Unsupported, "f:2:11: bicubic needs every height, 3 are missing; use the method bilinear"},
		{"shift", Header{}, "1,2,3", Placement{ShiftX: math.NaN()}, diag.Setting, "shift or rotation NaN is not a number within 1e+06 of zero"},
		{"rotation", Header{}, "1,2,3", Placement{RotateDeg: math.Inf(-1)}, diag.Setting, "shift or rotation -Inf is not a number within 1e+06 of zero"},
	} {
		p, err := Place(square(t, c.header, c.z), c.at)
		if p != nil || err == nil || !diag.Is(err, c.kind) || err.Error() != c.err {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// The option is over what the file says.
	if p := mustPlace(t, square(t, Header{Method: "sphere"}, "1,2,3"), Placement{Method: "bicubic"}); p.Method() != "bicubic" {
		t.Errorf("method %s", p.Method())
	}
	if p := mustPlace(t, square(t, Header{Method: "bicubic"}, "1,2,3"), Placement{}); p.Method() != "bicubic" {
		t.Errorf("method %s", p.Method())
	}
}

func TestNewRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	ok := []float64{0, 1}
	flat := []float64{1, 1, 1, 1}
	for _, c := range []struct{ x, y, z []float64 }{
		{nil, ok, nil}, {ok, []float64{1}, []float64{1, 1}},
		{[]float64{1, 0}, ok, flat}, {[]float64{0, 0}, ok, flat}, {ok, []float64{0, 1e-7}, flat},
		{[]float64{0, nan}, ok, flat}, {ok, []float64{0, inf}, flat}, {ok, []float64{0, 2e6}, flat},
		{ok, ok, []float64{1, 1, 1}}, {ok, ok, []float64{1, 1, 1, inf}}, {ok, ok, []float64{1, 1, 1, -2e5}},
		{ok, ok, []float64{nan, nan, nan, nan}},
	} {
		if s, err := New(c.x, c.y, c.z); err == nil || s != nil {
			t.Errorf("%v %v %v: no error", c.x, c.y, c.z)
		}
	}
	s, err := New(ok, ok, flat)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []Header{{Method: "best"}, {ErrorMM: -1}, {NoiseMM: nan}, {WrapsYMM: inf}, {Datum: &[2]float64{nan, 0}}} {
		if _, err := s.WithHeader(h); err == nil {
			t.Errorf("%+v: no error", h)
		}
	}
}

// Every axis finds the cell that a plain search finds.
func TestAxisCell(t *testing.T) {
	cluster := []float64{-5, 0}
	for k := range 40 {
		cluster = append(cluster, 1+1e-6*float64(k+1))
	}
	cluster = append(cluster, 50, 1e5)
	even := make([]float64, 1001)
	for k := range even {
		even[k] = 0.1 * float64(k)
	}
	for _, node := range [][]float64{cluster, even, {0, 1e-6}, {-1e6, 1e6}, {0, 12, 20, 33, 47, 60}} {
		a := newAxis(node)
		for k, n := range node {
			for _, v := range []float64{n, math.Nextafter(n, 1e9), math.Nextafter(n, -1e9), n + 1e-7, n - 1e-7} {
				want := -1
				for i := range node {
					if node[i] <= v {
						want = i
					}
				}
				if v == node[len(node)-1] {
					want--
				}
				if got := a.region(v); got != want {
					t.Fatalf("%v near node %d: region %d, want %d", v, k, got, want)
				}
			}
		}
	}
}
