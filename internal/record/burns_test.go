package record

import (
	"encoding/json"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
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
		k := b.Match(c.burn)
		if got := k >= 0 && b[k].Cutting(); got != c.want {
			t.Errorf("%+v: cuts %t, by rule %d", c.burn, got, k)
		}
	}
	if k := Burns(nil).Match(Burn{}); k != -1 {
		t.Errorf("of no rules rule %d matches", k)
	}
	said, err := json.Marshal(b)
	want := `[{"lines":[40,88],"cuts":true},{"tool":2,"feed_mm_min":[100,600],"cuts":false},{"feed_mm_min":[0,600],"power":[800,1000],"cuts":true}]`
	if err != nil || string(said) != want {
		t.Errorf("%s %v", said, err)
	}
}

// Each field says what it does, in either spelling of a depth.
func TestBurnsThatFocus(t *testing.T) {
	b, err := ReadBurns(strings.NewReader(`[[burns]]
lines = [1, 9]
depth_mm = 1.5
defocus_mm = -0.25
[[burns]]
power = [0, 100]
depth_mm = [-1.2, 2]
use = 1
[[burns]]
tool = 3
cuts = true
into_stock_mm = 1.5
[[burns]]
detail_mm = 0.4
`), "b.toml")
	if err != nil {
		t.Fatal(err)
	}
	said, err := json.Marshal(b)
	want := `[{"lines":[1,9],"depth_mm":[-1.5,1.5],"defocus_mm":-0.25},{"power":[0,100],"depth_mm":[-1.2,2],"use":1},` +
		`{"tool":3,"into_stock_mm":1.5,"cuts":true},{"detail_mm":0.4}]`
	if err != nil || string(said) != want {
		t.Errorf("%s %v", said, err)
	}
	if d := b[2].Defocus(); d == nil || *d != -1.5 {
		t.Errorf("1.5 mm into the stock is a defocus of %v", d)
	}
	var back Burns
	if err := json.Unmarshal(said, &back); err != nil || back[1].DepthMM.Depth() != (focus.Depth{Near: 1.2, Far: 2}) {
		t.Errorf("%+v %v", back, err)
	}
	if !b.TellCuts() || b[:2].TellCuts() {
		t.Error("the third alone tells what cuts")
	}
}

func TestReadBurnsRefuses(t *testing.T) {
	for _, c := range []struct {
		text      string
		line, col int
		field     string
		what      string
	}{
		{"", 0, 0, "", "has no rule"},
		{"burns = 3\n", 0, 0, "", "has no rule"},
		{"burns = []\n", 0, 0, "", "has no rule"},
		{"cuts = true\n", 1, 0, "cuts", "below [[burns]]"},
		{"[[burns]]\ncuts = true\n[[cuts]]\nlines = [1, 2]\n", 3, 0, "cuts", "below [[burns]]"},
		{"[[burns]]\n", 0, 0, "burns", "rule 1 says nothing"},
		{"[[burns]]\ncuts = true\n[[burns]]\n\nlines = [1, 2]\n", 5, 9, "lines", "rule 2 says nothing"},
		{"[[burns]]\nlines = [2, 1]\ncuts = true\n[[burns]]\nlines = [1, 2]\ncuts = true\n", 2, 9, "lines", "no less"},
		{"[[burns]]\ncuts = true\n# lines = [2, 1]\n[[ burns ]] # second\n\t\"lines\"\t=  [2, 1]\ncuts = true\n[[burns]]\nlines = [1, 2]\n", 5, 13, "lines", "no less"},
		{"burns = [{lines = [2, 1], cuts = true}]\n", 0, 0, "lines", "no less"},
		{"[[burns]]\nlines = [1, 2]\ncut = true\n", 3, 7, "cut", "is cuts meant?"},
		{"[[burns]]\nlines = [1.5, 2]\ncuts = true\n", 2, 9, "lines", "two whole numbers"},
		{"[[burns]]\nlines = [1]\ncuts = true\n", 2, 9, "lines", "two whole numbers"},
		{"[[burns]]\nlines = []\ncuts = true\n", 2, 9, "lines", "two whole numbers"},
		{"[[burns]]\nlines = [[1, 2], 3]\ncuts = true\n", 2, 9, "lines", "several such spans"},
		{"[[burns]]\nlines = [[1, 4], [4, 5]]\ncuts = true\n", 2, 9, "lines", "[4, 5] begins before line 5"},
		{"[[burns]]\nlines = [[7, 9], [2, 3]]\ncuts = true\n", 2, 9, "lines", "in order and apart"},
		{"[[burns]]\nlines = [[1, 2], [4, 3]]\ncuts = true\n", 2, 9, "lines", "not [4, 3]"},
		{"[[burns]]\nlines = [0, 2]\ncuts = true\n", 2, 9, "lines", "first line of 1 or more"},
		{"[[burns]]\nlines = [3, 2]\ncuts = true\n", 2, 9, "lines", "no less"},
		{"[[burns]]\ntool = -1\ncuts = true\n", 2, 8, "tool", "0 or more"},
		{"[[burns]]\ntool = 1.5\ncuts = true\n", 2, 8, "tool", "a whole number"},
		{"[[burns]]\ncuts = \"yes\"\n", 2, 8, "cuts", "true or false"},
		{"[[burns]]\ncuts = true\nfeed_mm_min = [600, 100]\n", 3, 15, "feed_mm_min", "no less"},
		{"[[burns]]\ncuts = true\nfeed_mm_min = [nan, 100]\n", 3, 15, "feed_mm_min", ""},
		{"[[burns]]\ncuts = true\npower = [0, inf]\n", 3, 9, "power", "no less"},
		{"[[burns]]\ncuts = true\npower = [-1, 0]\n", 3, 9, "power", "0 or more"},
		{"[[burns]]\n  depth_mm =  0\n", 2, 15, "depth_mm", "wants mm above 0"},
		{"[[burns]]\ndepth_mm = [1, 2]\n", 2, 12, "depth_mm", "nearer below zero"},
		{"[[burns]]\ndepth_mm = [1]\n", 2, 12, "depth_mm", "wants mm, as in 1.5"},
		{"[[burns]]\ndepth_mm = \"1\"\n", 2, 12, "depth_mm", "wants mm, as in 1.5"},
		{"[[burns]]\ndepth_mm = nan\n", 2, 12, "depth_mm", "wants mm above 0"},
		{"[[burns]]\ndepth_mm = 1001\n", 2, 12, "depth_mm", "wants mm above 0"},
		{"[[burns]]\ndepth_mm = 1\ndetail_mm = 1\n", 3, 13, "detail_mm", "one of them"},
		{"[[burns]]\ndetail_mm = 0\n", 2, 13, "detail_mm", "above 0"},
		{"[[burns]]\ndefocus_mm = inf\n", 2, 14, "defocus_mm", "from -1000 to 1000"},
		{"[[burns]]\ncuts = true\ndefocus_mm = 1\ninto_stock_mm = 1\n", 4, 17, "into_stock_mm", "one of them"},
		{"[[burns]]\ninto_stock_mm = 1\n", 2, 17, "into_stock_mm", "write cuts = true"},
		{"[[burns]]\ncuts = false\ninto_stock_mm = 1\n", 3, 17, "into_stock_mm", "write cuts = true"},
		{"[[burns]]\ncuts = true\ninto_stock_mm = -1\n", 3, 17, "into_stock_mm", "above 0"},
		{"[[burns]]\nuse = 0\n", 2, 7, "use", "above 0 up to 1"},
		{"[[burns]]\nuse = 1.5\n", 2, 7, "use", "above 0 up to 1"},
		{strings.Repeat("[[burns]]\nuse=1\n", 101), 0, 0, "burns", "more than 100"},
		{"[[burns]\n", 2, 0, "", ""},
		{strings.Repeat("# much\n", 30000), 0, 0, "", "too long"},
	} {
		_, err := ReadBurns(strings.NewReader(c.text), "b.toml")
		e := diag.As(err)
		if e == nil || e.Kind != diag.Setting || e.File != "b.toml" || e.Line != c.line || c.col > 0 && e.Col != c.col || e.Field != c.field || !strings.Contains(e.What, c.what) {
			t.Errorf("%.60q: %v", c.text, err)
		}
	}
}
