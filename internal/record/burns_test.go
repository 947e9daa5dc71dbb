package record

import (
	"encoding/json"
	"strings"
	"testing"

	"sagitta/internal/diag"
)

const someBurns = `# outline of the plate
[[burns]]
lines = [40, 88]
cuts = true

[[burns]]
tool = 2
feed_mm_min = [100, 600]
cuts = false

[[burns]]
feed_mm_min = [0, 600]
power = [800, 1000]
cuts = true
`

// The first rule that matches counts, ends of spans are in them, and what none
// matches only marks.
func TestBurnsThatCut(t *testing.T) {
	b, err := ReadBurns(strings.NewReader(someBurns), "burns.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		burn Burn
		want bool
	}{
		{Burn{40, 2, 100, 0}, true},
		{Burn{88, -1, 9000, 0}, true},
		{Burn{39, -1, 9000, 1000}, false},
		{Burn{89, -1, 600, 1000}, true},
		{Burn{89, 2, 600, 1000}, false},
		{Burn{89, 2, 99, 1000}, true},
		{Burn{89, -1, 600, 799}, false},
		{Burn{89, -1, 601, 900}, false},
	} {
		if got := b.Cuts(c.burn); got != c.want {
			t.Errorf("%+v: cuts %t", c.burn, got)
		}
	}
	if Burns(nil).Cuts(Burn{}) {
		t.Error("without rules a burn cuts")
	}
	said, err := json.Marshal(b)
	want := `[{"lines":[40,88],"cuts":true},{"tool":2,"feed_mm_min":[100,600],"cuts":false},{"feed_mm_min":[0,600],"power":[800,1000],"cuts":true}]`
	if err != nil || string(said) != want {
		t.Errorf("%s %v", said, err)
	}
}

func TestReadBurnsRefuses(t *testing.T) {
	for _, c := range []struct {
		text  string
		line  int
		field string
		what  string
	}{
		{"", 0, "", "has no rule"},
		{"burns = 3\n", 0, "", "has no rule"},
		{"burns = []\n", 0, "", "has no rule"},
		{"cuts = true\n", 1, "cuts", "below [[burns]]"},
		{"[[burns]]\ncuts = true\n[[cuts]]\nlines = [1, 2]\n", 3, "cuts", "below [[burns]]"},
		{"[[burns]]\n", 0, "cuts", "missing from rule 1"},
		{"[[burns]]\ncuts = true\n[[burns]]\n\nlines = [1, 2]\n", 5, "cuts", "missing from rule 2"},
		{"[[burns]]\nlines = [1, 2]\ncut = true\n", 3, "cut", "is cuts meant?"},
		{"[[burns]]\nlines = [1.5, 2]\ncuts = true\n", 2, "lines", "two whole numbers"},
		{"[[burns]]\nlines = [1]\ncuts = true\n", 2, "lines", "two whole numbers"},
		{"[[burns]]\nlines = [0, 2]\ncuts = true\n", 2, "lines", "first line of 1 or more"},
		{"[[burns]]\nlines = [3, 2]\ncuts = true\n", 2, "lines", "no less"},
		{"[[burns]]\ntool = -1\ncuts = true\n", 2, "tool", "0 or more"},
		{"[[burns]]\ntool = 1.5\ncuts = true\n", 2, "tool", "a whole number"},
		{"[[burns]]\ncuts = \"yes\"\n", 2, "cuts", "true or false"},
		{"[[burns]]\ncuts = true\nfeed_mm_min = [600, 100]\n", 3, "feed_mm_min", "no less"},
		{"[[burns]]\ncuts = true\nfeed_mm_min = [nan, 100]\n", 3, "feed_mm_min", ""},
		{"[[burns]]\ncuts = true\npower = [0, inf]\n", 3, "power", "no less"},
		{"[[burns]]\ncuts = true\npower = [-1, 0]\n", 3, "power", "0 or more"},
		{"[[burns]]\ncuts = true\ndepth_mm = 1\n", 3, "depth_mm", "not known to rules yet"},
		{"[[burns]]\nuse = 1\n", 2, "use", "not known to rules yet"},
		{"[[burns]\n", 2, "", ""},
		{strings.Repeat("# much\n", 4000), 0, "", "too long"},
	} {
		_, err := ReadBurns(strings.NewReader(c.text), "b.toml")
		e := diag.As(err)
		if e == nil || e.Kind != diag.Setting || e.File != "b.toml" || e.Line != c.line || e.Field != c.field || !strings.Contains(e.What, c.what) {
			t.Errorf("%.60q: %v", c.text, err)
		}
	}
}
