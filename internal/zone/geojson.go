package zone

import (
	"bufio"
	"encoding/json"
	"io"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// writeGeoJSON writes the map of the zones: for each its burns as a
// MultiLineString, its band's outline as a MultiPolygon and its focus point;
// the property "what" tells which is which. Coordinates are mm of the
// program. The burns are copied from where they were gathered, as they may be
// more than memory should hold; the rest is orb's.
func (s *splitter) writeGeoJSON(w io.Writer) error {
	out := bufio.NewWriter(w)
	if _, err := out.WriteString("{\"type\":\"FeatureCollection\",\"features\":[\n"); err != nil {
		return err
	}
	m := newMesh(s.opt.Surface)
	for i, o := range s.outs {
		if i > 0 {
			_, _ = out.WriteString(",\n")
		}
		if err := o.writeBurns(out); err != nil {
			return err
		}
		for _, f := range []*geojson.Feature{o.feature("band", m.band(o.z.Band)), o.feature("focus", orb.Point{o.z.Point.X, o.z.Point.Y})} {
			text, err := f.MarshalJSON()
			if err != nil {
				return err
			}
			_, _ = out.WriteString(",\n")
			_, _ = out.Write(text)
		}
	}
	if _, err := out.WriteString("\n]}\n"); err != nil {
		return err
	}
	return out.Flush()
}

// feature is a feature of the zone.
func (o *out) feature(what string, g orb.Geometry) *geojson.Feature {
	f := geojson.NewFeature(g)
	f.Properties["what"] = what
	f.Properties["order"] = o.z.Order
	f.Properties["lens"] = o.lens.Name
	f.Properties["focus_mm"] = o.z.Focus
	f.Properties["program"] = o.z.Program
	return f
}

// writeBurns writes the zone's burns, which are in a file.
func (o *out) writeBurns(w *bufio.Writer) error {
	props, err := json.Marshal(o.feature("burns", orb.MultiLineString{}).Properties)
	if err != nil {
		return err
	}
	_, _ = w.WriteString(`{"type":"Feature","properties":`)
	_, _ = w.Write(props)
	_, _ = w.WriteString(`,"geometry":{"type":"MultiLineString","coordinates":[`)
	if err := copyFile(w, o.drawn.geo.path); err != nil {
		return err
	}
	_, err = w.WriteString("]}}")
	return err
}
