package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine/drawn"
)

// mapped is what zones.geojson has of a zone.
type mapped struct {
	point [2]float64
	burns [][][2]float64
}

// mapOf reads the map of a folder: by the order of burning, from 1.
func (s *site) mapOf(dir string) map[int]*mapped {
	var list struct {
		Features []struct {
			Properties struct {
				What  string
				Order int
			}
			Geometry struct{ Coordinates json.RawMessage }
		}
	}
	if err := json.Unmarshal([]byte(s.read(filepath.Join(dir, "zones.geojson"))), &list); err != nil {
		s.fail("%v", err)
	}
	zones := map[int]*mapped{}
	for _, f := range list.Features {
		z := zones[f.Properties.Order]
		if z == nil {
			z = &mapped{}
			zones[f.Properties.Order] = z
		}
		var err error
		switch f.Properties.What {
		case "burns":
			err = json.Unmarshal(f.Geometry.Coordinates, &z.burns)
		case "focus":
			err = json.Unmarshal(f.Geometry.Coordinates, &z.point)
		}
		if err != nil {
			s.fail("%v", err)
		}
	}
	return zones
}

// apart is how far a place is from what a zone burns, by sampling.
func (z *mapped) apart(x, y float64) float64 {
	least := math.Inf(1)
	for _, line := range z.burns {
		for k := range line[1:] {
			a, b := line[k], line[k+1]
			n := math.Ceil(math.Hypot(b[0]-a[0], b[1]-a[1])/0.2) + 1
			for i := 0.0; i <= n; i++ {
				least = min(least, math.Hypot(a[0]+(b[0]-a[0])*i/n-x, a[1]+(b[1]-a[1])*i/n-y))
			}
		}
	}
	return least
}

// Where the focus of a zone is set, the foot of the gauge stands on the stock, and on
// nothing that is burned by then, or the sheet says so.
func TestFocusPoints(t *testing.T) {
	drawn.Fewer(t, 30)
	good, spoiled := 0, 0
	atSites(t, func(rt *rapid.T, s *site) {
		foot := pick(rt, "foot", 2.0, 5)
		s.write("bench.toml", s.read("bench.toml")+"gauge_foot_mm = "+map[float64]string{2: "2", 5: "5"}[foot]+"\n")
		way := pick(rt, "way", "--pause", "--rehearsal")
		if s.run(append(s.with("split"), "--depth", "0.4", "-o", "made", way)...) != 0 {
			return
		}
		zones, pages := s.mapOf("made"), strings.Split(s.read("made/sheet.txt"), "\f")
		if len(zones) != len(pages) {
			s.fail("%d zones on %d pages", len(zones), len(pages))
		}
		for k, page := range pages {
			at := zones[k+1].point
			if strings.Contains(page, "burned there") {
				spoiled++
				continue
			}
			good++
			for i := range k {
				// The map of marks is coarse, as are its distances.
				if far := zones[i+1].apart(at[0], at[1]); far < 0.9*foot/2-1 {
					s.fail("zone %d: X%g Y%g is %.2f mm from what zone %d burns\n%s", k+1, at[0], at[1], far, i+1, page)
				}
			}
		}
	})
	t.Logf("%d good, %d spoiled", good, spoiled)
}
