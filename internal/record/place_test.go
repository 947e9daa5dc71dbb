package record

import (
	"fmt"
	"strings"
	"testing"

	"sagitta/internal/diag"
)

// Each mistake is told with its line and field.
func TestReadPlacesMistakes(t *testing.T) {
	const at = "[[place]]\nshift = [1, 2]\n"
	for _, c := range []struct{ text, want string }{
		{"", "jig.toml: has no place"},
		{"program = \"a\"\n", "jig.toml: has no place"},
		{"place = 3\n", "jig.toml: has no place"},
		{"[place]\nshift = [1, 2]\n", "jig.toml: has no place"},
		{"place = []\n", "jig.toml: has no place"},
		{"[[place]]\nrotate = 3\n", "jig.toml:2: shift: is missing from place 1"},
		{at + "[[place]]\nskip = true\n", "jig.toml:4: shift: is missing from place 2"},
		{at + "raise = 1\n", "jig.toml:3: raise: no such field: is raise_mm meant?"},
		{at + "raise_mm = 2000\n", "jig.toml:3: raise_mm: wants mm from -1000 to 1000, not 2000"},
		{at + "raise_mm = nan\n", "jig.toml:3: raise_mm: wants a finite number, not NaN"},
		{at + "rotate = inf\n", "jig.toml:3: rotate: wants"},
		{at + "rotate = 361\n", "jig.toml:3: rotate: wants degrees from -360 to 360, not 361"},
		{at + "tilt = [0.3, 0]\n", "jig.toml:3: tilt: wants a rise over a length"},
		{at + "tilt = [1]\n", "jig.toml:3: tilt: wants two numbers"},
		{at + "stock_mm = [0, 0, 0, 1]\n", "jig.toml:3: stock_mm: wants x0, y0, then x1, y1 that are greater"},
		{at + "stock_mm = [0, 0, 1]\n", "jig.toml:3: stock_mm: wants 4 numbers"},
		{at + "readings = \"../a\"\n", "jig.toml:3: readings: ../a leads out"},
		{at + "skip = 1\n", "jig.toml:3: skip: wants true or false"},
		{"[[place]]\nshift = [1e6, 0]\n", "jig.toml:2: shift: wants mm within 100 m"},
		{strings.Repeat("[[place]]\nshift=[1,2]\n", mostPlaces+1), "jig.toml: place: are 251 places, more than 250"},
	} {
		_, err := ReadPlaces(strings.NewReader(c.text), "jig.toml")
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || !diag.Is(err, diag.Setting) {
			t.Errorf("%.60q: %v, not %s", c.text, err, c.want)
		}
	}
	list, err := ReadPlaces(strings.NewReader("program = \"a\"\n"+at+"rotate = -90\ntilt = [0.001, 0]\nraise_mm = 0.25\n[[place]]\nshift = [3, -4]\nskip = true\n"), "jig.toml")
	if err != nil || len(list) != 2 || list[0].String() != "X1 Y2, turned -90 deg, raised 0.25 mm, tilted 0.001 along X, 0 along Y" || list[1].String() != "X3 Y-4, skipped" {
		t.Errorf("%v, %v", list, err)
	}
}

// As many places as there may be are read, each with all that can be said of it and a remark.
func TestAllPlaces(t *testing.T) {
	var text strings.Builder
	for k := range mostPlaces {
		fmt.Fprintf(&text, "[[place]]                # hole %d of the jig, in row %d, by the stop\nshift = [%d.125, %d.250]\nrotate = 179.975\nraise_mm = 0.125\ntilt = [0.00125, -0.00025]\nreadings = \"readings/of-place-%d.csv\"\nstock_mm = [-5.125, -5.125, 105.250, 65.250]\nskip = false\n\n", k+1, k/10, k%10*120, k/10*80, k+1)
	}
	list, err := ReadPlaces(strings.NewReader(text.String()), "jig.toml")
	if err != nil || len(list) != mostPlaces {
		t.Fatalf("%d places: %v", len(list), err)
	}
}
