package record

import (
	"bytes"
	"encoding/json"

	"github.com/BurntSushi/toml"
)

// AsJSON gives what a record says as an object, by the names of its fields; those
// that are unset are left out.
func AsJSON(r Record) (json.RawMessage, error) {
	said := map[string]any{}
	for _, f := range fieldsOf(r) {
		switch v := f.Value.Interface().(type) {
		case MWords:
			said[f.Name] = v.texts()
		default:
			if _, set := tomlValue(f.Value); set {
				said[f.Name] = v
			}
		}
	}
	return json.Marshal(said)
}

// FileOf gives the file that says what such an object does, to be read by ReadLens
// or ReadMachine. The error is that of what is no object.
func FileOf(object json.RawMessage) ([]byte, error) {
	var said map[string]any
	d := json.NewDecoder(bytes.NewReader(object))
	d.UseNumber() // a whole number stays one
	if err := d.Decode(&said); err != nil {
		return nil, err
	}
	return toml.Marshal(said)
}
