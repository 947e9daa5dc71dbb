package touch

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
)

// The same nine touches, as machines and people write them. Each form is a
// way to get the columns, the unit or the sign wrong.
func TestReadForms(t *testing.T) {
	type touch struct{ x, y, z float64 }
	var want []touch
	for j := range 3 {
		for i := range 3 {
			want = append(want, touch{float64(i) * 50.8, float64(j) * 25.4, float64(i*j)*0.254 + 0.127})
		}
	}
	format := func(line func(n int, p touch) string) string {
		var b strings.Builder
		for n, p := range want {
			b.WriteString(line(n, p))
			b.WriteByte('\n')
		}
		return b.String()
	}
	f := sprint
	comma := func(v float64) string { return strings.Replace(f(v), ".", ",", 1) }
	for _, c := range []struct {
		name, text       string
		opt              Options
		columns, units   string
		decimal, heights string
		ignored          int
	}{
		{name: "plain", text: format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + f(p.z) })},
		{name: "report with a flag", text: "start\n" + format(func(_ int, p touch) string {
			return "[PRB:" + f(p.x) + "," + f(p.y) + "," + f(p.z) + ":1]\nok"
		}), columns: "xyz-", ignored: 10},
		{name: "letters, other order", text: format(func(_ int, p touch) string {
			return "Z" + f(p.z) + " X" + f(p.x) + " Y=" + f(p.y)
		})},
		{name: "a word before", text: format(func(_ int, p touch) string { return "touch " + f(p.x) + " " + f(p.y) + " " + f(p.z) })},
		{name: "prose with units", text: format(func(_ int, p touch) string {
			return "touched " + f(p.x) + " mm / " + f(p.y) + " mm -> " + f(p.z) + " mm"
		})},
		{name: "decimal commas", text: format(func(_ int, p touch) string { return comma(p.x) + ";" + comma(p.y) + ";" + comma(p.z) }), decimal: "comma"},
		{name: "decimal commas between blanks", text: format(func(_ int, p touch) string { return comma(p.x) + "  " + comma(p.y) + "  " + comma(p.z) }), decimal: "comma"},
		{name: "decimal commas parted by comma and blank", text: format(func(_ int, p touch) string { return comma(p.x) + ", " + comma(p.y) + ", " + comma(p.z) }), decimal: "comma"},
		{name: "names", text: "nr;y;height;x\n" + format(func(n int, p touch) string { return f(float64(n)) + ";" + f(p.y) + ";" + f(p.z) + ";" + f(p.x) }), columns: "-yzx"},
		{name: "counter", text: format(func(n int, p touch) string { return f(float64(n+1)) + " " + f(p.x) + " " + f(p.y) + " " + f(p.z) }), columns: "-xyz"},
		{name: "time before", text: format(func(n int, p touch) string { return "2031-05-01 12:30:05.2 " + f(p.x) + " " + f(p.y) + " " + f(p.z) })},
		{name: "height first", text: format(func(_ int, p touch) string { return f(p.z) + " " + f(p.x) + " " + f(p.y) }), columns: "zxy"},
		{name: "columns given", opt: Options{Columns: "zyx"}, text: format(func(_ int, p touch) string { return f(p.z) + " " + f(p.y) + " " + f(p.x) }), columns: "zyx"},
		{name: "inches said", text: "# units: in\n" + format(func(_ int, p touch) string { return f(p.x/25.4) + " " + f(p.y/25.4) + " " + f(p.z/25.4) }), units: "in"},
		{name: "inch marks", text: format(func(_ int, p touch) string { return f(p.x/25.4) + `" ` + f(p.y/25.4) + `" ` + f(p.z/25.4) + `"` }), units: "in"},
		{name: "inches given", opt: Options{Units: "in"}, text: format(func(_ int, p touch) string { return f(p.x/25.4) + " " + f(p.y/25.4) + " " + f(p.z/25.4) }), units: "in"},
		{name: "gaps", text: "x,y,gap\n" + format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + f(-p.z) }), heights: "down"},
		{name: "heights in inches by names", text: "x mm,y mm,z in\n" + format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + fmt.Sprintf("%.6f", p.z/25.4) }), units: "mm,mm,in"},
		{name: "heights in inches given", opt: Options{Units: "mm,mm,in"}, text: format(func(_ int, p touch) string { return f(p.x) + " " + f(p.y) + " " + fmt.Sprintf("%.6f", p.z/25.4) }), units: "mm,mm,in"},
		{name: "heights in inches said", text: "# units: mm, mm, in\n" + format(func(_ int, p touch) string { return f(p.x) + " " + f(p.y) + " " + fmt.Sprintf("%.6f", p.z/25.4) }), units: "mm,mm,in"},
		{name: "decimal commas between commas", text: format(func(_ int, p touch) string { return comma(p.x) + "," + comma(p.y) + "," + comma(p.z) }), decimal: "comma"},
		{name: "decimal commas between commas, named", text: "x,y,z\n" + format(func(_ int, p touch) string { return comma(p.x) + "," + comma(p.y) + "," + comma(p.z) }), decimal: "comma"},
		{name: "decimal commas filled into a sheet with points", text: "nr,x_mm,y_mm,height_mm\n" + format(func(n int, p touch) string { return fmt.Sprint(n+1) + "," + f(p.x) + "," + f(p.y) + "," + comma(p.z) }), columns: "-xyz", decimal: "comma"},
		{name: "names with units", text: "x_in;y_in;gap_in\n" + format(func(_ int, p touch) string { return comma(p.x/25.4) + ";" + comma(p.y/25.4) + ";" + comma(-p.z/25.4) }), units: "in", decimal: "comma", heights: "down"},
		{name: "down given", opt: Options{Heights: "down"}, text: format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + f(-p.z) }), heights: "down"},
		{name: "a blank height and words", text: "x,y,height\n" + format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + f(p.z) }) + "10,10,\nend of the sheet\n", ignored: 2},
		{name: "a failed touch", text: format(func(_ int, p touch) string { return "[" + f(p.x) + "," + f(p.y) + "," + f(p.z) + ":1]" }) + "[7,8,-5:0]\n", columns: "xyz-", ignored: 1},
		{name: "cut off", text: format(func(_ int, p touch) string { return f(p.x) + " " + f(p.y) + " " + f(p.z) }) + "101.600 50.8", ignored: 1},
		{name: "cut off within the height", text: format(func(_ int, p touch) string { return f(p.x) + " " + f(p.y) + " " + f(p.z) }) + "101.600 50.800 0.1", ignored: 1},
		{name: "CRLF and a mark", text: "\xef\xbb\xbf" + strings.ReplaceAll(format(func(_ int, p touch) string { return f(p.x) + "," + f(p.y) + "," + f(p.z) }), "\n", "\r\n")},
		{name: "grid", text: "y\\x, 0, 50.8, 101.6\n0, 0.127, 0.127, 0.127\n25.4, 0.127, 0.381, 0.635\n50.8, 0.127, 0.635, 1.143\n", columns: "grid"},
		{name: "grid with decimal commas", text: ";0;50,8;101,6\n0;0,127;0,127;0,127\n25,4;0,127;0,381;0,635\n50,8;0,127;0,635;1,143\n", columns: "grid", decimal: "comma"},
		{name: "grid, down by option", opt: Options{Heights: "down"}, text: "y\\x, 0, 50.8, 101.6\n0, -0.127, -0.127, -0.127\n25.4, -0.127, -0.381, -0.635\n50.8, -0.127, -0.635, -1.143\n", columns: "grid", heights: "down"},
		{name: "grid in inches by option", opt: Options{Units: "in"}, text: "y\\x, 0, 2, 4\n0, 0.005, 0.005, 0.005\n1, 0.005, 0.015, 0.025\n2, 0.005, 0.025, 0.045\n", columns: "grid", units: "in"},
	} {
		r, err := Read(strings.NewReader(c.text), "f", c.opt)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if len(r.Points) != len(want) {
			t.Errorf("%s: %d points, want %d: %+v", c.name, len(r.Points), len(want), r.Ignored)
			continue
		}
		for k, p := range r.Points {
			if math.Abs(p.X-want[k].x)+math.Abs(p.Y-want[k].y)+math.Abs(p.Z-want[k].z) > 1e-9 {
				t.Errorf("%s: point %d is %+v, want %+v", c.name, k, p, want[k])
				break
			}
		}
		for _, s := range [][3]string{
			{"columns", r.Columns, or(c.columns, r.Columns)}, {"units", r.Units, or(c.units, "mm")},
			{"decimal", r.Decimal, or(c.decimal, "point")}, {"heights", r.Heights, or(c.heights, "up")},
		} {
			if s[1] != s[2] {
				t.Errorf("%s: %s read as %s, want %s", c.name, s[0], s[1], s[2])
			}
		}
		if r.IgnoredCount != c.ignored {
			t.Errorf("%s: %d lines ignored, want %d: %+v", c.name, r.IgnoredCount, c.ignored, r.Ignored)
		}
	}
}

func or(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct{ name, text, what, hint string }{
		{"empty", " \n\n", "the log is empty", ""},
		{"no touch", "hello\nprobe 1\n", "no line with three numbers among 1 line with any", "a touch is a line"},
		{"two readings of the height", "0 0 0\n10 10 20\n20 5 3\n3 20 15\n", "may be the height: both readings are equally good", "--columns"},
		{"four numbers", "1 5 0.2 0.7\n8 3 0.1 0.3\n5 9 0.3 0.2\n", "4 numbers in a line", "--columns"},
		{"both units", "1 mm 2 mm 0.1 in\n3 mm 4 mm 0.2 in\n", "both millimetres and inches", "--units"},
		{"a method that does not exist", "# method: splines\n1 2 3\n4 5 6\n7 9 9\n", "does not exist", ""},
		{"decimal commas that cannot be told", "0,0,0,1\n30,0,0,3\n0,30,0,4\n30,30,0,5\n", "some of the commas may be decimal signs", "semicolons"},
		{"decimal commas under names", "x,y,z\n0,0,0,1\n30,0,0,3\n0,30,0,4\n", "more numbers between commas than 3 columns", "semicolons"},
		{"a grid with decimal commas", "y\\x,0,30,60\n0,0,1,0,2,0,3\n30,0,1,0,2,0,4\n", "row has 7 fields, the first row has 4", "semicolons"},
		{"a blank sheet", "nr,x_mm,y_mm,height_mm\n1,8.000,8.000,\n2,22.000,8.000,\n", "no line holds a whole touch", "still blank"},
		{"zero byte", "1 2 3\n\x00", "not text", ""},
		{"beyond any bench", "X1 Y2 Z3\nX4e9 Y5 Z6\nX7 Y8 Z9\n", "beyond any bench", ""},
	} {
		_, err := Read(strings.NewReader(c.text), "f", Options{})
		if e := diag.As(err); e == nil || !strings.Contains(e.What, c.what) || !strings.Contains(e.Hint, c.hint) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestMerge(t *testing.T) {
	p := []surface.Point{
		{X: 0, Y: 0, Z: 1.00, Line: 1}, {X: 10, Y: 0, Z: 5, Line: 2}, {X: 0.004, Y: 0, Z: 1.02, Line: 3}, {X: 20, Y: 0, Z: 7, Line: 4},
		{X: 10, Y: 0.003, Z: 5.04, Line: 5}, {X: 30, Y: 0, Z: 1, Line: 6}, {X: 30, Y: 0, Z: 1.01, Line: 7}, {X: 30, Y: 0, Z: 1.02, Line: 8}, {X: 30, Y: 0, Z: 4, Line: 9},
	}
	m, rep := Merge(p)
	if len(m) != 4 || rep.Places != 3 || rep.Touches != 7 {
		t.Fatalf("%+v %+v", m, rep)
	}
	if math.Abs(m[0].Z-1.01) > 1e-12 || math.Abs(m[1].Z-5.02) > 1e-12 || m[2].Z != 7 || math.Abs(m[3].Z-1.01) > 1e-12 {
		t.Errorf("means %+v", m)
	}
	// Pooled: (2*0.01² + 2*0.02² + 2*0.01²) / (1 + 1 + 2).
	if want := math.Sqrt(0.0012 / 4); math.Abs(rep.NoiseMM-want) > 1e-12 {
		t.Errorf("noise %v, want %v", rep.NoiseMM, want)
	}
	if len(rep.Stray) != 1 || rep.Stray[0].Line != 9 {
		t.Errorf("stray %+v, want line 9", rep.Stray)
	}
}

func TestMixedUnits(t *testing.T) {
	var p []surface.Point
	for k := range 20 {
		z := 3 + 0.3*math.Sin(float64(k))
		if k >= 12 {
			z /= 25.4
		}
		p = append(p, surface.Point{X: float64(k), Z: z, Line: k + 1})
	}
	if jump := MixedUnits(p); !strings.HasPrefix(jump, "from line 13 on heights are about 26 times smaller: ") {
		t.Errorf("of a jump in line 13 it says %q", jump)
	}
	for k := range p {
		p[k].Z = float64(k) / 10 // a plain slope jumps nowhere
	}
	if jump := MixedUnits(p); jump != "" {
		t.Errorf("of a slope it says %q", jump)
	}
	for k := range p { // flat, and then a bump that inches do not explain
		p[k].Z = 0.1
		if k >= 12 {
			p[k].Z = 2.6 * math.Sin(math.Pi*float64(k-11)/9)
		}
	}
	if jump := MixedUnits(p); jump != "" {
		t.Errorf("of a bump it says %q", jump)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("x,y,z\n1,2,3\n4,5,6\n", "")
	f.Add("[PRB:1.5,2,3:1]\n[PRB:2,5,3:0]\n", "-xyz")
	f.Add(";0;10\n0;0,1;0,2\n5;1;2\n", "")
	f.Add("1,5 2,5 3,5\n", "xyz")
	f.Fuzz(func(t *testing.T, text, columns string) {
		opt := Options{}
		if CheckColumns(columns) == nil {
			opt.Columns = columns
		}
		r, err := Read(strings.NewReader(text), "f", opt)
		if err != nil {
			return
		}
		for _, p := range r.Points {
			if !(math.Abs(p.X) <= surface.MaxCoordMM && math.Abs(p.Y) <= surface.MaxCoordMM && math.Abs(p.Z) <= surface.MaxHeightMM) {
				t.Fatalf("point %+v", p)
			}
		}
		Undrift(r.Points, 0)
		Merge(r.Points)
	})
}

// sprint writes three decimals, as machines do.
func sprint(v float64) string { return fmt.Sprintf("%.3f", v) }

// The datum of a grid is in the units that the grid is read in.
func TestGridDatum(t *testing.T) {
	const grid = "# units: in\n# datum: 1,2\n;0;3\n0;0,1;0,5\n3;0,2;0,9\n"
	for units, want := range map[string][2]float64{"": {25.4, 50.8}, "in": {25.4, 50.8}, "mm": {1, 2}} {
		r, err := Read(strings.NewReader(grid), "f", Options{Units: units})
		if err != nil || r.Grid == nil || r.Header.Datum == nil || *r.Header.Datum != want {
			t.Errorf("units %q: %+v, %v, want the datum %v", units, r, err, want)
		}
	}
}
