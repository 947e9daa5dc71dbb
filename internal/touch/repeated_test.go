package touch

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A later file that goes on from a copy of an earlier one, before, among or behind its
// touches, counts for what else it has; a place that is touched again at another height is
// no copy.
func TestRepeatedTouchesCountOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) string {
			return fmt.Sprintf("%d,%d,%.2f\n", rapid.IntRange(0, 9).Draw(t, label), rapid.IntRange(0, 9).Draw(t, label), float64(rapid.IntRange(0, 99).Draw(t, label))/100)
		}
		first := []string{"0,0,0.01\n", "5,5,0.50\n"}
		for range rapid.IntRange(1, 6).Draw(t, "more") {
			first = append(first, draw("first"))
		}
		var second, own []string
		changed := rapid.Bool().Draw(t, "changed")
		at := rapid.IntRange(0, len(first)-1).Draw(t, "where")
		for k, line := range first {
			if rapid.Bool().Draw(t, "between") {
				// 20 is nowhere in the first.
				own = append(own, strings.Replace(draw("own"), ",", ",2", 1))
				second = append(second, own[len(own)-1])
			}
			if changed && k == at {
				line = strings.Replace(line, "\n", "5\n", 1)
			}
			second = append(second, line)
		}
		own = append(own, "7,31,0.70\n")
		second = append(second, own[len(own)-1])
		var parts []Part
		for k, lines := range [][]string{first, second} {
			r, err := Read(strings.NewReader(strings.Join(lines, "")), fmt.Sprint(k), Options{})
			if err != nil {
				t.Fatal(err)
			}
			parts = append(parts, Part{Name: fmt.Sprint(k), Reading: r})
		}
		r, err := Join(parts)
		if err != nil {
			t.Fatal(err)
		}
		want, repeated := len(first)+len(own), len(first)
		if changed {
			want, repeated = len(first)+len(second), 0
		}
		if len(r.Points) != want || r.Parts[1].Repeated != repeated {
			t.Fatalf("%d touches, %d repeated, want %d and %d, of\n%s\nand\n%s", len(r.Points), r.Parts[1].Repeated, want, repeated, strings.Join(first, ""), strings.Join(second, ""))
		}
		if !changed {
			// Each of its own keeps its line.
			for k, p := range r.Parts[1].Points {
				if got := second[p.Line-1]; got != own[k] {
					t.Fatalf("line %d is %q, want %q", p.Line, got, own[k])
				}
			}
		}
		if len(parts[1].Points) != len(second) {
			t.Fatal("the reading that was given was changed")
		}
	})
}

// Few touches, or touches that are all alike, are found again by chance.
func TestAlikeByChance(t *testing.T) {
	for _, text := range []string{"0,0,0\n9,0,0\n9,9,0\n0,9,0\n", "0,0,0\n9,0,1\n"} {
		var parts []Part
		for k, more := range []string{"", "4,4,0.1\n"} {
			r, err := Read(strings.NewReader(text+more), fmt.Sprint(k), Options{})
			if err != nil {
				t.Fatal(err)
			}
			parts = append(parts, Part{Name: fmt.Sprint(k), Reading: r})
		}
		r, err := Join(parts)
		if err != nil || r.Parts[1].Repeated != 0 {
			t.Errorf("%v, %d repeated of\n%s", err, r.Parts[1].Repeated, text)
		}
	}
}
