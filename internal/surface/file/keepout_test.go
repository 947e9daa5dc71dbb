package file

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
)

func TestReadKeepOut(t *testing.T) {
	want := []surface.Box{{X0: 10, Y0: 20, X1: 30, Y1: 40, Height: 12.5}, {X0: -5, Y0: 0, X1: 5, Y1: 1, Height: -2}}
	for _, text := range []string{
		"10,20,30,40,12.5\n-5,0,5,1,-2\n",
		"# clamps\nx0, y0, x1, y1, height\n30,40,10,20,12.5 # left\n\n5,0,-5,1,-2",
		"X0;Y0;X1;Y1;height_mm\r\n10;20;30;40;12.5\r\n-5;0;5;1;-2\r\n",
		"10 20  30 40 12.5\n-5 0 5 1 -2\n",
		"# heights: down\n10,20,30,40,-12.5\n-5,0,5,1,2\n",
	} {
		got, err := ReadKeepOut(strings.NewReader(text), "k.csv")
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	got, err := ReadKeepOut(strings.NewReader("# units: in\n0,0,1,2,0.5"), "k.csv")
	if err != nil || !slices.Equal(got, []surface.Box{{X0: 0, Y0: 0, X1: 25.4, Y1: 50.8, Height: 12.7}}) {
		t.Errorf("inches: %v, %v", got, err)
	}
	for text, place := range map[string]string{
		"":                                   "1:1",
		"# none\n":                           "1:1",
		"x0,y0,x1,y1,height\n":               "1:1",
		"x0,x1,y0,y1,height\n1,2,3,4,5\n":    "1:4",
		"1,2,3,4\n":                          "1:7",
		"1,2,3,4,5,6\n":                      "1:11",
		"1,2,3,4,5\n1,2,x,4,5\n":             "2:5",
		"1,2,3,4,5\nx0,y0,x1,y1,height\n":    "2:1",
		"1,2,3,4,nan\n":                      "1:9",
		"1,2,3,4,\n":                         "1:9",
		"1,2,1,4,5\n":                        "1:5",
		"1,2,3,2,5\n":                        "1:7",
		"1e9,2,3,4,5\n":                      "1:1",
		"1,2,3,4,0x5\n":                      "1:9",
		"1,2,3,4,5\x00\n":                    "1:10",
		strings.Repeat("1,2,3,4,5\n", 10001): "10001:1",
	} {
		_, err := ReadKeepOut(strings.NewReader(text), "k.csv")
		if bad := diag.As(err); bad == nil || bad.Kind != diag.Malformed || fmt.Sprintf("%d:%d", bad.Line, bad.Col) != place {
			t.Errorf("%.40q: %v, want one at %s", text, err, place)
		}
	}
}
