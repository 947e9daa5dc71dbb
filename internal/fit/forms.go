package fit

import (
	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

const (
	// heardPoints are enough to tell how well an account foretells: a standard deviation
	// to two per cent.
	heardPoints = 2000
	// formPoints are enough for a form: more make its parameters no better than
	// the touches' own systematic errors.
	formPoints = 20000
)

// forms are those that were fitted to points, each once.
type forms struct {
	points, heard []surface.Point // heard are some of all points, from all over
	fitted        map[string]fitting
}

type fitting struct {
	*form.Fitted
	err error
}

func newForms(points []surface.Point) *forms {
	return &forms{points, layout.Thin(points, heardPoints), map[string]fitting{}}
}

// fit fits a form to the points that are heard.
func (f *forms) fit(name string) (*form.Fitted, error) {
	done, ok := f.fitted[name]
	if !ok {
		done.Fitted, done.err = form.Fit(name, f.heard)
		f.fitted[name] = done
	}
	return done.Fitted, done.err
}

// closely fits a form to as many points as make it any better.
func (f *forms) closely(name string) (*form.Fitted, error) {
	if len(f.heard) == len(f.points) {
		return f.fit(name)
	}
	return form.Fit(name, layout.Thin(f.points, formPoints))
}

// part is the variance that a form has by as many points as make it better, as a part of
// that by those heard.
func (f *forms) part() float64 {
	return float64(len(f.heard)) / float64(min(len(f.points), formPoints))
}
