package sheet

import (
	"io"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// writeGeoJSON writes the map of the zones: for each its burns as a
// MultiLineString, its band's outline as a MultiPolygon and its focus point;
// the property "what" tells which is which. Coordinates are mm of the program.
// Burns that are more than memory should have come in several features.
func (s *Set) writeGeoJSON(w io.Writer) error {
	next := "{\"type\":\"FeatureCollection\",\"features\":[\n"
	write := func(z *Zone, what string, g orb.Geometry) error {
		f := geojson.NewFeature(g)
		f.Properties = geojson.Properties{"what": what, "order": z.Order, "lens": s.Lenses[z.Lens].Name, "focus_mm": z.Focus, "program": z.Program}
		text, err := f.MarshalJSON()
		if err == nil {
			_, err = io.WriteString(w, next+string(text))
		}
		next = ",\n"
		return err
	}
	m := newMesh(s.Surface)
	for i := range s.Zones {
		z := &s.Zones[i]
		if err := z.Lines.each(func(list orb.MultiLineString) error { return write(z, "burns", list) }); err != nil {
			return err
		}
		if err := write(z, "band", m.band(z.Band)); err != nil {
			return err
		}
		if err := write(z, "focus", orb.Point{z.Point.X, z.Point.Y}); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, "\n]}\n")
	return err
}
