package zone

import (
	"slices"
	"testing"

	"sagitta/internal/rewrite"
)

// A figure gets the finest lens that is deep enough, else the deepest.
func TestLensFor(t *testing.T) {
	depth := func(v float64) Lens { var l Lens; l.Depth.Near, l.Depth.Far = v/2, v/2; return l }
	lenses := []Lens{depth(1), depth(4), depth(2)}
	for _, c := range []struct {
		high float64
		want int
	}{{0, 0}, {0.9, 0}, {0.995, 1}, {1.5, 1}, {3.9, 1}, {9, 1}} {
		if got := (&Options{Lenses: lenses}).lensFor(kindHeights{{Hi: c.high}}); got != c.want {
			t.Errorf("%g mm: lens %d, want %d", c.high, got, c.want)
		}
	}
}

func TestChooseLenses(t *testing.T) {
	lens := func(name string, depth, detail float64) Lens {
		l := Lens{Name: name, DetailMM: detail}
		l.Depth.Near, l.Depth.Far = depth, depth
		return l
	}
	short, middle, long := lens("short", 1.5, 0.5), lens("middle", 2, 0), lens("long", 3, 0.8)
	for _, c := range []struct {
		detail float64
		want   []string
	}{{0, []string{"short", "middle", "long"}}, {0.8, []string{"short", "middle", "long"}}, {0.6, []string{"short", "middle"}}, {0.4, []string{"middle"}}} {
		got, err := choose(&Options{Lenses: []Lens{long, middle, short}, DetailMM: c.detail})
		var names []string
		for _, l := range got {
			names = append(names, l.Name)
		}
		if err != nil || !slices.Equal(names, c.want) {
			t.Errorf("detail %g: %v, %v", c.detail, names, err)
		}
	}
	_, err := choose(&Options{Options: rewrite.Options{Name: "job.gcode"}, Lenses: []Lens{long, short}, DetailMM: 0.3})
	const want = "job.gcode: no lens marks a detail of 0.3 mm: long marks 0.8 mm, short marks 0.5 mm"
	if err == nil || err.Error() != want {
		t.Errorf("%v", err)
	}
}
