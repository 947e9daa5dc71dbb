package fit

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/touch"
)

// Load reads a surface as file.Read does, and fits it where the method
// asks for a fit: plane, cylinder, cone, sphere, smooth or auto, by the option
// method or, where that is "", by the file. Points that are on no grid can be
// read in no other way. The surface comes with the method that it is to be
// read by, and under the name and digest of the file.
//
// Touches that look bad are not left out here but refused: cleaning is to be
// seen by whoever measured.
func Load(r io.Reader, name, method string) (*surface.Surface, error) {
	s, err := file.Read(r, name)
	scattered, ok := errors.AsType[*file.ScatteredError](err)
	if err != nil && !ok {
		return nil, err
	}
	var header surface.Header
	var points []surface.Point
	var digest string
	if ok {
		header, digest = scattered.Header, scattered.Digest
		points = slices.DeleteFunc(scattered.Points, func(p surface.Point) bool { return p.Z != p.Z })
	} else {
		header, digest, points = s.Header(), s.Source().Digest, s.Points()
	}
	method = cmp.Or(method, header.Method)
	if !Fits(method) {
		return s, err
	}
	_, bad, err := Outliers(points)
	if err != nil {
		return nil, refused(name, err.Error()+"; clean the measured heights first", "")
	}
	if len(bad) > 0 {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: max(bad[0].Line, 1), Col: 1},
			What: fmt.Sprintf("a touch is %+.3f mm off what those around it lead to; clean the measured heights first", bad[0].OffMM)}
	}
	choice, err := Choose(points, GridOf(points, touch.SamePlaceMM), method, header.NoiseMM, header.WrapsYMM, 0)
	if err != nil {
		return nil, refused(name, err.Error(), "")
	}
	// What the file says of its heights holds for the fit as well.
	written, err := choice.Write(points, header)
	if err != nil {
		return nil, refused(name, err.Error(), "")
	}
	return written.Surface.WithSource(surface.Source{Name: name, Digest: digest}), nil
}

// Fits reports whether a method is a fit.
func Fits(method string) bool {
	return formOf(method) != nil || method == "smooth" || method == "auto"
}
