package file

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

func TestReadGood(t *testing.T) {
	const nan = "nan"
	for _, c := range []struct {
		name, in string
		x, y, z  string
	}{
		{"grid", "y\\x,0,12,20\n0,1,2,3\n9,4,5,6\n", "0 12 20", "0 9", "1 2 3 4 5 6"},
		{"blank corner", ",0,12\n0,1,2\n9,4,5", "0 12", "0 9", "1 2 4 5"},
		{"semicolon, CRLF, BOM, blanks", "\xef\xbb\xbf; 0 ; 12 \r\n 0;1;2\r\n9;4;+5\r\n", "0 12", "0 9", "1 2 4 5"},
		{"tab", "\t0\t12\n0\t1\t\n9\t4\t5\n", "0 12", "0 9", "1 nan 4 5"},
		{"blanks, no corner", "   0  12  20\n0 1 2 3\n9 4 nan 6\n", "0 12 20", "0 9", "1 2 3 4 nan 6"},
		{"blanks, two nodes, no corner", "0 12\n0 1 2\n9 4 5\n", "0 12", "0 9", "1 2 4 5"},
		{"blanks, three nodes against points", "0 12 20\n0 1 2 3\n9 4 5 6", "0 12 20", "0 9", "1 2 3 4 5 6"},
		{"blanks, named corner", "mm 0 12\n0 1 2\n9 4 5\n", "0 12", "0 9", "1 2 4 5"},
		{"missing", ",0,12\n0,,2\n9,NaN,5\n", "0 12", "0 9", "nan 2 nan 5"},
		{"descending", ",12,0\n9,1,2\n0,4,5\n", "0 12", "0 9", "5 4 2 1"},
		{"comments and blank lines", "# a: b\n\n#\n,0,12 # nodes\n,,\n0,1,2\n# x\n9,4,5\n", "0 12", "0 9", "1 2 4 5"},
		{"exponents", ",0,1.2e1\n0,1e-3,2E0\n9,4,.5e+1\n", "0 12", "0 9", ".001 2 4 5"},
		{"inches", "# units: in\n,0,1\n0,1,2\n2,-1,0.5\n", "0 25.4", "0 50.8", "25.4 50.8 -25.4 12.7"},
		{"down", "#Heights:DOWN\n,0,1\n0,1,-2\n2,0,nan\n", "0 1", "0 2", "-1 2 0 nan"},
		{"decimal commas", ";0;12,5\n0;-1,25;2\n9;4;,5\n", "0 12.5", "0 9", "-1.25 2 4 .5"},
		{"points", "x,y,z\n0,0,1\n12,9,5\n0,9,4\n12,0,2\n", "0 12", "0 9", "1 2 4 5"},
		{"points, blanks, no names", "0 0 1\n12 9 5\n0 9 4\n12 0 2\n", "0 12", "0 9", "1 2 4 5"},
		{"points, missing", "0;0;1\n12;9;5\n0;9;nan\n12;0;\n", "0 12", "0 9", "1 nan nan 5"},
		{"points, a hole", "0,0,1\n12,9,5\n12,0,2\n", "0 12", "0 9", "1 2 nan 5"},
		{"points, twice the same", "0,0,1\n12,9,5\n0,0,1.0\n0,9,4\n12,0,2\n", "0 12", "0 9", "1 2 4 5"},
		{"many digits", ",0,1\n0,0.12345678901234567,123456789012345678e-17\n1,-0.1,1e-300\n", "0 1", "0 1", "0.12345678901234567 1.23456789012345678 -0.1 1e-300"},
	} {
		s, err := Read(iotest.OneByteReader(strings.NewReader(c.in)), "f")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		list := func(v []float64) string { return strings.Trim(fmt.Sprint(v), "[]") }
		want := func(text string) string {
			var v []float64
			for _, f := range strings.Fields(text) {
				h := math.NaN()
				if f != nan {
					fmt.Sscan(f, &h)
				}
				v = append(v, h)
			}
			return list(v)
		}
		if list(s.X()) != want(c.x) || list(s.Y()) != want(c.y) || list(heights(s)) != want(c.z) {
			t.Errorf("%s: x %v, y %v, z %v", c.name, s.X(), s.Y(), heights(s))
		}
	}
}

// Rows longer than the reader's buffer, and a million nodes.
func TestReadBig(t *testing.T) {
	for _, n := range [][2]int{{50_000, 20}, {1000, 1000}} {
		var in bytes.Buffer
		height := func(i, j int) int { return (7*i + 13*j) % 1000 }
		for i := range n[0] {
			fmt.Fprintf(&in, ",%d", i)
		}
		for j := range n[1] {
			fmt.Fprintf(&in, "\n%d", j)
			for i := range n[0] {
				fmt.Fprintf(&in, ",%d", height(i, j))
			}
		}
		s, err := Read(&in, "f")
		if err != nil {
			t.Fatal(err)
		}
		if len(s.X()) != n[0] || len(s.Y()) != n[1] {
			t.Fatalf("%d x %d nodes", len(s.X()), len(s.Y()))
		}
		for _, j := range []int{0, n[1] - 1} {
			for _, i := range []int{0, 7, n[0] - 1} {
				if want := float64(height(i, j)); s.Height(i, j) != want {
					t.Errorf("height %v at %d,%d, want %v", s.Height(i, j), i, j, want)
				}
			}
		}
	}
}

func TestReadHeader(t *testing.T) {
	s, err := Read(strings.NewReader("# units: in\n# Method: Bicubic\n# error_mm: 0.02\n#noise_mm:1e-2\n# datum: 1, -2\n# made by hand: yes\n# wraps_y_mm: 314\n,0,1\n0,1,2\n2,-1,0.5\n"), "f")
	if err != nil {
		t.Fatal(err)
	}
	h := s.Header()
	if h.Method != "bicubic" || h.ErrorMM != 0.02 || h.NoiseMM != 0.01 || h.WrapsYMM != 314 || *h.Datum != [2]float64{25.4, -50.8} {
		t.Errorf("%+v, datum %v", h, h.Datum)
	}
	// Computed with Python's hashlib from the same bytes.
	s, err = Read(strings.NewReader(",0,1\n0,1,2\n1,3,4\n"), "f")
	if err != nil {
		t.Fatal(err)
	}
	const want = "34eee17a08372c605ed16d52715fd754df4163d8676d06610a905bf1bc930980"
	if got := s.Source().Digest; got != want {
		t.Errorf("digest %s", got)
	}
}

func TestReadBad(t *testing.T) {
	const row = "0,1,2\n9,4,5\n"
	for _, c := range []struct {
		in, want string
	}{
		{"", "f:1:1: no data: the file is empty"},
		{"\n# only\n\n", "f:3:1: no data: the file has comments and blank lines only"},
		{"\xef\xbb\xbf", "f:1:1: no data: the file has comments and blank lines only"},
		{"x,y,z\n", "f:1:1: no data after the row of names"},
		{"PK\x03\x04,1,2\n", "f:1:3: not text (a control character); save it as plain UTF-8 CSV"},
		{"\xff\xfe,\x000\x00", "f:1:4: not text (a control character); save it as plain UTF-8 CSV"},
		{",0,12\r0,1,2\r", "f:1:6: not text (a control character); save it as plain UTF-8 CSV"},
		{"# a\n,0,0\n" + row, `f:2:4: x node 0 repeats the one before it`},
		{",0,1e-7\n" + row, `f:1:4: x node 1e-7 repeats the one before it`},
		{",0,12,5\n", "f:1:7: x node 5 is out of order"},
		{",12,0,5\n", "f:1:7: x node 5 is out of order"},
		{",0\n0,1\n1,2\n", "f:1:2: a grid needs at least two x nodes"},
		{"x\\y\n", "f:1:1: a row of names needs three columns x, y, z; a grid's first row holds its x nodes"},
		{",0,12\n", "f:1:1: a grid needs at least two rows of heights after the x nodes"},
		{",0,12\n0,1,2\n", "f:2:1: a grid needs at least two rows of heights, this is the only one"},
		{",0,12\n0,1,2\n0,4,5\n", "f:3:1: y node 0 repeats the one before it"},
		{",0,12\n0,1,2\n9,4,5\n3,6,7", "f:4:1: y node 3 is out of order"},
		{",0,12\n0,1,2\n9,4\n", "f:3:4: row has 1 heights, the first row has 2 x nodes"},
		{",0,12\n0,1,2\n9,4,5,\n", "f:3:7: row has 3 heights, the first row has 2 x nodes"},
		{",0,,12\n", "f:1:4: x node is missing; a number is needed here"},
		{",0,nan\n", `f:1:4: x node "nan" is not a number`},
		{",0,12\n,1,2\n", "f:2:1: y node is missing; a number is needed here"},
		{",0,12\n0,1,abc\n", `f:2:5: height "abc" is not a number`},
		{",0,12\n0,1, Inf\n", `f:2:6: height "Inf" is not a number`},
		{",0,12\n0,-infinity,2\n", `f:2:3: height "-infinity" is not a number`},
		{",0,12\n0,1_0,2\n", `f:2:3: height "1_0" is not a number`},
		{",0,12\n0,0x1p-2,2\n", `f:2:3: height "0x1p-2" is not a number`},
		{",0,12\n0,1e999,2\n", `f:2:3: height "1e999" is not a number`},
		{",0,12\n0,1e6,2\n", `f:2:3: height "1e6" is not within 100000 mm of zero`},
		{",0,2e6\n" + row, `f:1:4: x node "2e6" is not within 1e+06 mm of zero`},
		{",0,12\n0,--1,2\n", `f:2:3: height "--1" is not a number`},
		{",0,12\n0,1.2.3,2\n", `f:2:3: height "1.2.3" is not a number`},
		{",0,12\n0,.,2\n", `f:2:3: height "." is not a number`},
		{",0,12\n0,1e,2\n", `f:2:3: height "1e" is not a number`},
		{";0;12\n0;1,5;2.5\n", `f:2:7: height "2.5" is not a number; decimals take a comma, as before it`},
		{";0;12.5\n0;1,5;2\n", `f:2:3: height "1,5" is not a number; decimals take a point`},
		{",0,12\n0,nan,\n9,,NaN\n", "f:2:1: every height is missing"},
		{"inf,2,3\n1,5,6\n", `f:1:1: "inf" is not a number`},
		{"0x1,2,3\n1,5,6\n", `f:1:1: "0x1" is not a number`},
		{"1,2,3,4\n", "f:1:1: cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has 4"},
		{"1 2 3 4\n1 2 3 4\n", "f:1:1: cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has 4"},
		{"1 2 3 4", "f:1:1: cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has 4"},
		{"y,x,z\n1,2,3\n", "f:1:1: columns must be x, y, z in this order"},
		{"0,0,1\n1,2\n", "f:2:4: point has 2 fields, x, y and z are needed"},
		{"0,0,1\n1,2,3,4\n", "f:2:7: point has 4 fields, x, y and z are needed"},
		{"0,0,1\n1,nan,3\n", `f:2:3: y "nan" is not a number`},
		{"0,0,1\n0,1,2\n", "f:1:1: all points have the same x; at least two are needed"},
		{"0,0,1\n1,0,2\n", "f:1:1: all points have the same y; at least two are needed"},
		{"0,0,1\n1,1,2\n0,1,3\n1,0,4\n0,0,5\n", "f:5:1: point was given another height in line 1 (1, now 5 mm)"},
		{"0,0,1\n1,1,2\n0,1,\n1,0,4\n0,1,5\n", "f:5:1: point was given another height in line 3 (NaN, now 5 mm)"},
		{"0,0,nan\n1,1,\n0,1,nan\n", "f:1:1: every height is missing"},
		{"0,0,1\n1,0,1\n1.0000001,0,1\n0,1,1\n1,1,1\n1.0000001,1,2\n", "f:1:1: nodes 1 and 1.0000001 mm are all but the same"},
		{"# units: cm\n", `f:1:10: units "cm" are neither mm nor in, nor mm,mm,in for heights in inches`},
		{"# heights: left\n", `f:1:12: heights "left" are neither up nor down`},
		{"# method: best\n", `f:1:11: method "best" does not exist; use bilinear, bicubic, smooth, plane, cylinder, cone, sphere or auto`},
		{"# error_mm: -1\n", `f:1:13: error_mm "-1" is not a length in mm`},
		{"# error_mm: inf\n", `f:1:13: error_mm "inf" is not a length in mm`},
		{"# noise_mm:\n", `f:1:12: noise_mm "" is not a length in mm`},
		{"# wraps_y_mm: 0\n", `f:1:15: wraps_y_mm "0" is not a length in mm`},
		{"# datum: 1\n", `f:1:10: datum "1" is not two numbers X,Y`},
		{"# datum: 1,2,3\n", `f:1:10: datum "1,2,3" is not two numbers X,Y`},
		{"# datum: 1,x\n", `f:1:10: datum "1,x" is not two numbers X,Y`},
		{"# datum: 1,1e7\n,0,12\n" + row, "f:1:10: datum is not within 1e+06 mm of zero"},
		{"# units: mm\n# units: in\n", `f:2:1: header line "units" was already given in line 1`},
		{"# error_row: 0,1,2\n,0,12\n0,1,2\n9,4,5\n", "f:4:1: this row has no error_row, and others have: give one for each row"},
		{"# error_row: 9,1,2\n,0,12\n0,1,2\n9,4,5\n", "f:3:1: this row has no error_row, and others have: give one for each row"},
		{",0,12\n0,1,2\n# error_row: 0,1,2\n9,4,5\n#error_row: 0 1 2\n", "f:5:13: error_row of y 0 was already given in line 3"},
		{",0,12\n0,1,2\n# error_row: 8, 1, 2\n9,4,5\n", "f:3:14: error_row of y 8 is of no row of the grid"},
		{"# error_row: 0, 1\n,0,12\n" + row, "f:1:18: error_row has 1 errors, the grid has 2 x nodes"},
		{"# error_row: 0, 1, 2, 3\n,0,12\n" + row, "f:1:23: error_row has 3 errors, the grid has 2 x nodes"},
		{"# error_row:\n,0,12\n" + row, "f:1:13: y node is missing; a number is needed here"},
		{"# error_row: 0; 1; -2\n,0,12\n" + row, `f:1:20: error "-2" is not a length in mm`},
		{"# error_row: 0; 1; 1e7\n,0,12\n" + row, `f:1:20: error "1e7" is not a length in mm`},
		{"# error_row: 0 1 x\n,0,12\n" + row, `f:1:18: error "x" is not a number`},
		{"# error_row: 0, nan, 1\n,0,12\n" + row, `f:1:17: error "nan" is not a number`},
		{"# error_row: 0, , 1\n,0,12\n" + row, "f:1:17: error is missing; a number is needed here"},
		{"# error_row: 0,1,2\n0,0,1\n1,0,2\n0,1,3\n1,1,4\n", "f:1:1: error_row is for the rows of a grid, and these are points; say one error_mm for all of them"},
		{",0,12\n# units: in\n" + row, `f:2:1: header line "units" must stand before the first row`},
	} {
		s, err := Read(strings.NewReader(c.in), "f")
		bad := diag.As(err)
		if s != nil || bad == nil || bad.Kind != diag.Malformed {
			t.Errorf("%q: %v, %v", c.in, s, err)
			continue
		}
		if err.Error() != c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.in, err, c.want)
		}
		lines := strings.Split(c.in, "\n")
		source := strings.TrimRight(strings.TrimPrefix(lines[bad.Line-1], "\xef\xbb\xbf"), "\r")
		if bad.Source != source && bad.Source != "" || bad.File != "f" {
			t.Errorf("%q: source %q of file %q", c.in, bad.Source, bad.File)
		}
	}
}

func TestReadUnsupported(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"# s\n0,0,1\n1,5,2\n2,3,3\n7,1,3\n", "f:2:1: scattered points are not supported without a fit: 4 points do not fill the grid of their 4 x and 4 y values; use the method auto"},
		// Enough rows, but most of them at few places.
		{"0,0,1\n1,1,2\n2,2,3\n0,0,1\n1,1,2\n2,2,3\n", "f:1:1: scattered points are not supported without a fit: 3 points do not fill the grid of their 3 x and 3 y values; use the method auto"},
	} {
		_, err := Read(strings.NewReader(c.in), "f")
		if !diag.Is(err, diag.Unsupported) || err.Error() != c.want {
			t.Errorf("%q: %v", c.in, err)
		}
	}
}

// A failing reader is no fault of the file.
func TestReadFails(t *testing.T) {
	broken := errors.New("disk gone")
	for _, in := range []string{"", ",0,1\n0,1,2\n", ",0,1\n0,1,2\n5,1"} {
		_, err := Read(io.MultiReader(strings.NewReader(in), iotest.ErrReader(broken)), "f")
		if !errors.Is(err, broken) {
			t.Errorf("%q: %v", in, err)
		}
	}
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawNodes(t, "x"), drawNodes(t, "y")
		h := surface.Header{
			Method:   rapid.SampledFrom([]string{"", "bicubic", "sphere"}).Draw(t, "method"),
			ErrorMM:  rapid.SampledFrom([]float64{0, 0.1, 1.0 / 3}).Draw(t, "error"),
			NoiseMM:  rapid.SampledFrom([]float64{0, 1e-9}).Draw(t, "noise"),
			WrapsYMM: rapid.SampledFrom([]float64{0, 99.5}).Draw(t, "wraps"),
		}
		h.ErrorSaid = h.ErrorMM > 0 || rapid.Bool().Draw(t, "exact")
		if rapid.Bool().Draw(t, "datum") {
			h.Datum = &[2]float64{rapid.Float64Range(-1e6, 1e6).Draw(t, "x"), 2}
		}
		if rapid.Bool().Draw(t, "shift") {
			h.Shift, h.RotateDeg = &[2]float64{5, -2.5}, 90
		}
		z := make([]float64, 0, len(x)*len(y))
		for range cap(z) {
			z = append(z, rapid.OneOf(rapid.Float64Range(-1e5, 1e5), rapid.Just(math.NaN())).Draw(t, "z"))
		}
		z[0] = 1.0 / 3
		s, err := surface.New(x, y, z)
		if err == nil && rapid.Bool().Draw(t, "by place") {
			e := make([]float64, len(z))
			for k := range e {
				if e[k] = rapid.OneOf(rapid.Float64Range(0, 1), rapid.Just(0.1)).Draw(t, "e"); z[k] != z[k] && rapid.Bool().Draw(t, "blank") {
					e[k] = math.NaN()
				}
			}
			s, err = s.WithErrors(e)
		}
		if err == nil {
			s, err = s.WithHeader(h)
		}
		if err != nil {
			t.Fatal(err)
		}
		h.ErrorMM, h.ErrorSaid = s.Header().ErrorMM, s.Header().ErrorSaid // the least of those by place
		var b bytes.Buffer
		if err := Write(&b, s); err != nil {
			t.Fatal(err)
		}
		got, err := Read(&b, "f")
		if err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(got.X(), got.Y(), heights(got)) != fmt.Sprint(x, y, z) {
			t.Fatalf("got %v %v %v, want %v %v %v", got.X(), got.Y(), heights(got), x, y, z)
		}
		if got.ErrorsVary() != s.ErrorsVary() || fmt.Sprint(errorsOf(got)) != fmt.Sprint(errorsOf(s)) {
			t.Fatalf("errors %v, want %v", errorsOf(got), errorsOf(s))
		}
		g := got.Header()
		if (g.Datum == nil) != (h.Datum == nil) || g.Datum != nil && *g.Datum != *h.Datum {
			t.Fatalf("datum %v, want %v", g.Datum, h.Datum)
		}
		if (g.Shift == nil) != (h.Shift == nil) || g.Shift != nil && *g.Shift != *h.Shift {
			t.Fatalf("shift %v, want %v", g.Shift, h.Shift)
		}
		g.Datum, h.Datum, g.Shift, h.Shift = nil, nil, nil, nil
		if g != h {
			t.Fatalf("header %+v, want %+v", g, h)
		}
	})
}

func drawNodes(t *rapid.T, name string) []float64 {
	n := rapid.IntRange(2, 9).Draw(t, name+" nodes")
	node := []float64{rapid.Float64Range(-1e4, 1e4).Draw(t, name)}
	for len(node) < n {
		node = append(node, node[len(node)-1]+rapid.Float64Range(1e-3, 1e3).Draw(t, name+" step"))
	}
	return node
}

func heights(s *surface.Surface) []float64 {
	var z []float64
	for j := range s.Y() {
		for i := range s.X() {
			z = append(z, s.Height(i, j))
		}
	}
	return z
}

func errorsOf(s *surface.Surface) []float64 {
	var e []float64
	for j := range s.Y() {
		for i := range s.X() {
			e = append(e, s.ErrorAt(i, j))
		}
	}
	return e
}

// Each line of errors goes to the row of its y, wherever it stands and whichever way
// the axes run, in mm whatever the units are.
func TestReadErrors(t *testing.T) {
	for _, c := range []struct {
		name, in, errors string
		least            float64
	}{
		{"before the grid", "# error_row: 9,4,5\n# error_row: 0,1,2\n,0,12\n0,1,2\n9,4,5\n", "1 2 4 5", 1},
		{"before and behind the rows", ",0,12\n# error_row: 0, 1, 2\n0,1,2\n9,4,5\n# Error_Row: 9; 4; 0,5\n", "1 2 4 0.5", 0.5},
		{"descending", "# error_row: 9 4 5\n# error_row: 0 1 2\n,12,0\n9,1,2\n0,4,5\n", "2 1 5 4", 1},
		{"inches, said later", "# error_row: 1,4,5\n# error_row: 0,1,2\n# units: in\n,0,1\n0,1,2\n1,4,5\n", "1 2 4 5", 1},
		{"error_mm is the least of any", "# error_mm: 3\n# error_row: 9,4,5\n# error_row: 0,1,2\n,0,12\n0,1,2\n9,4,5\n", "3 3 4 5", 3},
		{"error_mm below them", "# error_mm: 0.5\n# error_row: 9,4,5\n# error_row: 0,1,2\n,0,12\n0,1,2\n9,4,5\n", "1 2 4 5", 1},
		{"a missing height", "# error_row: 9,,5\n# error_row: 0,nan,2\n,0,12\n0,,2\n9,nan,5\n", "NaN 2 NaN 5", 2},
	} {
		s, err := Read(strings.NewReader(c.in), "f")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := strings.Trim(fmt.Sprint(errorsOf(s)), "[]"); got != c.errors || s.Header().ErrorMM != c.least || !s.Header().ErrorSaid {
			t.Errorf("%s: %s, header %+v", c.name, got, s.Header())
		}
	}
}

// A million nodes, as bytes.
func BenchmarkRead(b *testing.B) {
	node := make([]float64, 1000)
	for i := range node {
		node[i] = float64(i)
	}
	s := surfacetest.Of(b, "", node, node, func(x, y float64) float64 { return math.Sin(x/30) + math.Cos(y/20) }).Surface()
	var text bytes.Buffer
	if err := Write(&text, s); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text.Bytes()), "f"); err != nil {
			b.Fatal(err)
		}
	}
}

// Any bytes are an error, or a surface with heights everywhere.
func FuzzRead(f *testing.F) {
	f.Add([]byte("y\\x,0,12,20\n0,1,2,3\n9,4,,6\n"))
	f.Add([]byte("# units: in\n# heights: down\n# datum: 0,0\nx y z\n0 0 1\n1 0 2\n0 1 nan\n"))
	f.Add([]byte("# method: bicubic\n 0 1 2 7\n0 1 2 3 4\n1 1e-3 2 3 4\n4 1 2 3 5\n"))
	f.Add([]byte("\xef\xbb\xbf;0;1\r\n0;;\r\n1;2;3"))
	f.Add([]byte("# error_row: 4,0,.1\n;0;1\n# error_row: 0;0,5;nan\n0;1;\n4;2;3"))
	f.Fuzz(func(t *testing.T, in []byte) {
		s, err := Read(bytes.NewReader(in), "f")
		if err != nil {
			if e := diag.As(err); e == nil || e.Kind > diag.Unsupported || e.Line < 1 || e.Col < 1 || e.What == "" {
				t.Fatalf("%#v", err)
			}
			return
		}
		for _, method := range []string{"bilinear", "bicubic"} {
			p, err := surface.Place(s, surface.Placement{RotateDeg: 10, Method: method})
			if err != nil {
				continue
			}
			for _, c := range p.Bounds() {
				h, _ := p.At(c[0], c[1])
				g, _ := p.At(c[0]*1.3-c[1], 0.4*c[1])
				if math.IsNaN(h-g) || math.IsInf(h-g, 0) {
					t.Fatalf("heights %v and %v", h, g)
				}
			}
			pieces := p.AppendLine(nil, 0, 0, s.X()[1], s.Y()[1]*0.9, 0.01, 0.001)
			if pieces[0].S0 != 0 || pieces[len(pieces)-1].S1 != 1 {
				t.Fatal("pieces do not cover the move")
			}
		}
	})
}

// A file without end is refused before it fills the memory.
func TestReadEndless(t *testing.T) {
	for _, row := range []string{"1,2,3\n", "7", "# more\n"} {
		_, err := Read(io.LimitReader(endless(row), 1<<30), "f")
		e := diag.As(err)
		if e == nil || e.Line < 1 {
			t.Errorf("%q without end: %v", row, err)
		}
	}
}

// endless repeats a text.
type endless string

func (e endless) Read(b []byte) (n int, err error) {
	for n+len(e) <= len(b) {
		n += copy(b[n:], e)
	}
	return n, nil
}
