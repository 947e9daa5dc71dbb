package sheet

import (
	"bufio"
	"bytes"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// writeGeoJSON writes the map of the zones: for each its burns as a
// MultiLineString, its band's outline as a MultiPolygon and its focus point;
// the property "what" tells which is which. Coordinates are mm of the program.
// Those of burns are streamed, being more than memory should have.
func (s *Set) writeGeoJSON(w *bufio.Writer) error {
	next := "{\"type\":\"FeatureCollection\",\"features\":[\n"
	feature := func(z *Zone, what string, g orb.Geometry) ([]byte, error) {
		f := geojson.NewFeature(g)
		f.Properties = geojson.Properties{"what": what, "order": z.Order, "lens": s.Lenses[z.Lens].Name, "focus_mm": z.Focus, "program": z.Program}
		_, _ = w.WriteString(next) // the writer keeps its error
		next = ",\n"
		return f.MarshalJSON()
	}
	m := newMesh(s.Surface)
	for i := range s.Zones {
		z := &s.Zones[i]
		burns, err := feature(z, "burns", orb.MultiLineString{})
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
			text, err := feature(z, f.what, f.Geometry)
			if err != nil {
				return err
			}
			_, _ = w.Write(text)
		}
	}
	_, err := w.WriteString("\n]}\n")
	return err
}
