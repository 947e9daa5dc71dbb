package sheet

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/paulmach/orb/simplify"

	"sagitta/internal/cover"
	"sagitta/internal/surface"
)

// meshCells is how many cells the mesh for looking at has on a side.
const meshCells = 96

// meshSide is how many corners it has on a side, with a frame of corners
// without height around them, so that all outlines are closed.
const meshSide = meshCells + 3

// mesh is the surface as triangles, coarse enough for a picture.
type mesh struct {
	at [meshSide * meshSide]orb.Point // program XY
	h  [meshSide * meshSide]float64   // NaN where there is no height
	// fine is how far in mm an outline may be simplified.
	fine float64
}

func newMesh(p *surface.Placed) *mesh {
	m := &mesh{}
	x, y := p.Surface().X(), p.Surface().Y()
	x0, y0, dx, dy := x[0], y[0], x[len(x)-1]-x[0], y[len(y)-1]-y[0]
	m.fine = max(dx, dy) / meshCells / 20
	for k := range m.at {
		i, j := k%meshSide-1, k/meshSide-1
		in := func(v int) float64 { return float64(min(max(v, 0), meshCells)) / meshCells }
		px, py := p.Program(x0+dx*in(i), y0+dy*in(j))
		m.at[k] = orb.Point{px, py}
		h, where := p.At(px, py)
		if m.h[k] = h; where == surface.Hole || in(i) != float64(i)/meshCells || in(j) != float64(j)/meshCells {
			m.h[k] = math.NaN()
		}
	}
	return m
}

// side is a side of a triangle, by its corners, the lower number first.
type side [2]int

// band gives the part of the mesh whose heights are within a band, as
// polygons. In a triangle of which one or two corners are within, the outline
// goes from one side to another, with what is within on its left. A band that
// is passed between two corners is not seen.
func (m *mesh) band(b cover.Span) orb.MultiPolygon {
	next := map[side]side{}
	var order []side
	for j := range meshSide - 1 {
		for i := range meshSide - 1 {
			k := j*meshSide + i
			a, c, d, e := k, k+1, k+meshSide+1, k+meshSide
			for _, t := range [2][3]int{{a, c, d}, {a, d, e}} {
				var from, to side
				crossed := false
				for n := range t {
					p, q := t[n], t[(n+1)%3]
					switch s := (side{min(p, q), max(p, q)}); {
					case m.within(p, b) && !m.within(q, b):
						from, crossed = s, true
					case !m.within(p, b) && m.within(q, b):
						to = s
					}
				}
				if crossed {
					next[from] = to
					order = append(order, from)
				}
			}
		}
	}
	thin := simplify.DouglasPeucker(m.fine)
	var rings []orb.Ring
	for _, s := range order {
		var ring orb.Ring
		for to, is := next[s]; is; to, is = next[s] {
			if at := m.cross(s, b); len(ring) == 0 || at != ring[len(ring)-1] {
				ring = append(ring, at)
			}
			delete(next, s)
			s = to
		}
		if len(ring) < 3 {
			continue
		}
		ring = append(ring, ring[0])
		if len(thin.Ring(ring.Clone())) > 3 {
			rings = append(rings, ring)
		}
	}
	// Only once it is known which holes are in which outlines.
	return thin.MultiPolygon(polygons(rings))
}

func (m *mesh) within(k int, b cover.Span) bool { return m.h[k] >= b.Lo && m.h[k] <= b.Hi }

// cross is where a side leaves a band: at a corner within it, where the other
// has no height.
func (m *mesh) cross(s side, b cover.Span) orb.Point {
	p, q := s[0], s[1] // p is within
	if !m.within(p, b) {
		p, q = q, p
	}
	t := 0.0
	switch {
	case m.h[q] > b.Hi:
		t = (b.Hi - m.h[p]) / (m.h[q] - m.h[p])
	case m.h[q] < b.Lo:
		t = (b.Lo - m.h[p]) / (m.h[q] - m.h[p])
	}
	round := func(a, b float64) float64 { return math.Round((a+(b-a)*t)*1e4) / 1e4 }
	return orb.Point{round(m.at[p][0], m.at[q][0]), round(m.at[p][1], m.at[q][1])}
}

// polygons makes polygons of rings that do not cross: those that run
// counter-clockwise are outlines, the others holes in the innermost of those
// around them.
func polygons(rings []orb.Ring) orb.MultiPolygon {
	var out orb.MultiPolygon
	for _, r := range rings {
		if r.Orientation() == orb.CCW {
			out = append(out, orb.Polygon{r})
		}
	}
	for _, r := range rings {
		if r.Orientation() == orb.CCW {
			continue
		}
		best := -1
		for i := range out {
			if planar.RingContains(out[i][0], r[0]) && (best < 0 || planar.RingContains(out[best][0], out[i][0][0])) {
				best = i
			}
		}
		if best >= 0 {
			out[best] = append(out[best], r)
		}
	}
	return out
}

// feature is one of GeoJSON (RFC 7946), which the library reads back in tests: its own
// would bring a driver of databases into the tool.
type feature struct {
	Type       string         `json:"type"`
	Geometry   geometry       `json:"geometry"`
	Properties map[string]any `json:"properties"`
}

// geometry is that of a feature.
type geometry struct {
	Type        string       `json:"type"`
	Coordinates orb.Geometry `json:"coordinates"`
}

// writeGeoJSON writes the map of the zones: for each its burns as a
// MultiLineString, its band's outline as a MultiPolygon and its focus point;
// the property "what" tells which is which. Coordinates are mm of the program.
// Those of burns are streamed, being more than memory should have.
func (s *Set) writeGeoJSON(w *bufio.Writer) error {
	next := "{\"type\":\"FeatureCollection\",\"features\":[\n"
	write := func(z *Zone, what string, g orb.Geometry) ([]byte, error) {
		_, _ = w.WriteString(next) // the writer keeps its error
		next = ",\n"
		return json.Marshal(feature{"Feature", geometry{g.GeoJSONType(), g}, map[string]any{
			"what": what, "order": z.Order, "lens": s.Lenses[z.Lens].Name, "focus_mm": z.Focus, "program": z.Program}})
	}
	m := newMesh(s.Surface)
	for i := range s.Zones {
		z := &s.Zones[i]
		burns, err := write(z, "burns", orb.MultiLineString{})
		if err != nil {
			return err
		}
		at := bytes.Index(burns, []byte("[]")) + 1 // within the coordinates, which come first
		_, _ = w.Write(burns[:at])
		if err := z.Lines.writeTo(w); err != nil {
			return err
		}
		_, _ = w.Write(burns[at:])
		for _, f := range []struct {
			what string
			orb.Geometry
		}{{"band", m.band(z.Band)}, {"focus", orb.Point{z.Point.X, z.Point.Y}}} {
			text, err := write(z, f.what, f.Geometry)
			if err != nil {
				return err
			}
			_, _ = w.Write(text)
		}
	}
	_, err := w.WriteString("\n]}\n")
	return err
}
