package record

import (
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
)

// What goes too deep is found, and nothing that only has the marks in texts and comments.
func TestTooDeep(t *testing.T) {
	many := strings.Repeat
	for text, want := range map[string]int{
		"a = 1\nb = " + many("[", 17) + many("]", 17):                   2,
		"a = " + many("[", 16) + many("]", 16):                          0,
		"a = 1\n\na = " + many("{a=", 17) + "1":                         3,
		"[" + many("a.", 17) + "a]":                                     1,
		many("a . ", 17) + "a = 1":                                      1,
		many(`"a".`, 17) + "a = 1":                                      1,
		"a = [" + many("1.5, ", 100) + "1.5]":                           0,
		"a = \"" + many("[", 20) + "\"":                                 0,
		"a = '" + many("[.\\", 20) + "'":                                0,
		"a = \"\\\"" + many("[", 20) + "\"":                             0,
		"# " + many("[", 20) + "\na = 1":                                0,
		"# " + many("[", 20):                                            0,
		"a = \"\"\"\n" + many("[\n", 20) + "\"\"\"\nb=" + many("[", 20): 23,
		"a = '''" + many("[", 20) + "'''":                               0,
		"a = \"" + many("[", 20) + "\nb = " + many("[", 20):             2,
		many("[a]\n", 100):                                              0,
		many("]", 5) + many("[", 17):                                    1,
	} {
		if got := TooDeep([]byte(text)); got != want {
			t.Errorf("%q: line %d, not %d", text, got, want)
		}
	}
}

// depthOf is how deep a value goes.
func depthOf(v any) (deepest int) {
	switch v := v.(type) {
	case map[string]any:
		for _, x := range v {
			deepest = max(deepest, 1+depthOf(x))
		}
	case []map[string]any:
		for _, x := range v {
			deepest = max(deepest, 1+depthOf(x))
		}
	case []any:
		for _, x := range v {
			deepest = max(deepest, 1+depthOf(x))
		}
	}
	return deepest
}

// FuzzTooDeep holds it to the decoder: what passes does not come out deeper.
func FuzzTooDeep(f *testing.F) {
	for _, text := range []string{"a.b.c = [[{x = 1}]]", "[[a.b]]\nc = \"[\"", "a = '''[\n'''\nb = {c.d = 1}", "a = \"\"\"\\\"\"\"\"\nb=[1]"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4096 || TooDeep([]byte(text)) > 0 {
			return
		}
		var v map[string]any
		if _, err := toml.Decode(text, &v); err == nil && depthOf(v) > 3*mostNested+3 {
			t.Errorf("it goes %d deep", depthOf(v))
		}
	})
}
