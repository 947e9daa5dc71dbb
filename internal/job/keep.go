package job

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/fit"
	"sagitta/internal/option"
	"sagitta/internal/record"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/zone/sheet"
)

// mostLenses bounds the lenses of a list: no bench has more.
const mostLenses = 1000

// Keep writes into the folder dir what the set of zones in it is judged by, and gives
// what its list is to have of that. at points to the options of the command.
func (j *Job) Keep(dir string, at any) (sheet.Made, error) {
	made := sheet.Made{Version: j.Version, Options: map[string]json.RawMessage{}, Files: map[string]string{}}
	used, err := j.used()
	if err != nil {
		return made, err
	}
	var text bytes.Buffer
	if j.Unsure.From != FromFile {
		text.WriteString("# how sure its heights are" + j.Unsure.said() + "\n")
	}
	if err := file.Write(&text, used); err != nil {
		return made, err
	}
	keep := func(name string, text []byte) error {
		made.Files[name], _ = sheet.DigestOf(bytes.NewReader(text))
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			return diag.IOError(err)
		}
		return nil
	}
	if err := keep(surfaceFile, text.Bytes()); err != nil {
		return made, err
	}
	if j.KeepOut != "" {
		if err := keep(keepOutFile, j.keepOut.Bytes()); err != nil {
			return made, err
		}
	}
	for _, o := range option.Of(at) {
		unsaid := o.Value.IsZero() && !j.Given(o.Name) && o.Name != "defocus" // which a record may know
		if unsaid || slices.Contains(ofFiles, o.Name) || o.Name == "method" && fit.Fits(j.Method) {
			continue
		}
		if made.Options[o.Name], err = json.Marshal(o.Value.Interface()); err != nil {
			return made, err
		}
	}
	if j.Rules.Burns != nil {
		if made.Options["burns"], err = json.Marshal(j.Rules.Burns); err != nil {
			return made, err
		}
	}
	for i := range j.Lenses {
		if r := j.Lenses[i].Record; r != nil {
			said, err := record.AsJSON(r)
			if err != nil {
				return made, err
			}
			made.Lenses = append(made.Lenses, said)
		}
	}
	made.Machine, err = record.AsJSON(j.Machine)
	return made, err
}

// used is the surface with the method by which it is read.
func (j *Job) used() (*surface.Surface, error) {
	h := j.laid.surface.Header()
	h.Method = j.Placed.Method()
	return j.laid.surface.WithHeader(h)
}

// sameSurface reports whether two surfaces are the same, bit for bit.
func sameSurface(a, b *surface.Surface) bool {
	if !slices.Equal(a.X(), b.X()) || !slices.Equal(a.Y(), b.Y()) || a.ErrorsVary() != b.ErrorsVary() {
		return false
	}
	alike := func(p, q float64) bool { return p == q || math.IsNaN(p) && math.IsNaN(q) }
	for j := range a.Y() {
		for i := range a.X() {
			if !alike(a.Height(i, j), b.Height(i, j)) || !alike(a.ErrorAt(i, j), b.ErrorAt(i, j)) {
				return false
			}
		}
	}
	p, q := a.Header(), b.Header()
	same := func(x, y *[2]float64) bool { return x == y || x != nil && y != nil && *x == *y }
	return p.Method == q.Method && p.ErrorMM == q.ErrorMM && p.NoiseMM == q.NoiseMM && p.WrapsYMM == q.WrapsYMM &&
		p.RotateDeg == q.RotateDeg && same(p.Shift, q.Shift) && same(p.Datum, q.Datum)
}
