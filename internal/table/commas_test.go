package table

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCommas(t *testing.T) {
	for _, c := range []struct {
		line string
		n    int
		ways int
		read string
	}{
		{"1,2,3", 3, 1, "1,2,3"},
		{"10,5,20,0,0,25", 3, 1, "10.5,20.0,0.25"},
		{"0,0,0,100", 3, 2, ""},
		{"0, 0, 0,100", 3, 1, "0, 0, 0.100"},
		{"1,8.000,8.000,0,25", 4, 1, "1,8.000,8.000,0.25"},
		{"1,8.000,8.000,-0,25,,", 4, 1, "1,8.000,8.000,-0.25,,"},
		{"1,2,-3,4", 3, 2, ""},
		{"1,-2,-3,4", 3, 1, "1,-2,-3.4"},
		{"1.5,2.5,3.5,1", 3, 0, ""},
		{"1,2", 3, 0, ""},
		{"1,2,3,4,5,6,7", 3, 0, ""},
	} {
		ways, at := Commas([]byte(c.line), c.n)
		read := ""
		if ways == 1 {
			b := []byte(c.line)
			for _, k := range at {
				b[k] = '.'
			}
			read = string(b)
		}
		if ways != c.ways || read != c.read {
			t.Errorf("%q as %d: %d ways, %q; want %d, %q", c.line, c.n, ways, read, c.ways, c.read)
		}
	}
}

// All ways to join neighbours are counted by trying each.
func TestCommasCountsAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fields := rapid.SliceOfN(rapid.SampledFrom([]string{"1", "20", "-3", "4.5", " 6", "7 "}), 1, 8).Draw(t, "fields")
		n := rapid.IntRange(1, 8).Draw(t, "n")
		want := 0
		for mask := range 1 << (len(fields) - 1) {
			count, good := len(fields), true
			for k := range len(fields) - 1 {
				if mask>>k&1 == 0 {
					continue
				}
				count--
				a, b := fields[k], fields[k+1]
				good = good && !(k > 0 && mask>>(k-1)&1 == 1) && !strings.ContainsAny(a[len(a)-1:], " ") && !strings.Contains(a, ".") &&
					!strings.ContainsAny(b, ".-") && !strings.HasPrefix(b, " ")
			}
			if good && count == n {
				want++
			}
		}
		line := strings.Join(fields, ",")
		if ways, _ := Commas([]byte(line), n); ways != min(want, 2) {
			t.Fatalf("%q as %d: %d ways, want %d", line, n, ways, want)
		}
	})
	if fmt.Sprint(Commas(nil, 1)) != "1 []" {
		t.Error("an empty line is one blank field")
	}
}
