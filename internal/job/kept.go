package job

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"slices"
	"sync"

	"sagitta/internal/fit"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
)

// Kept are the surfaces that were laid last, for jobs that lay the same ones in the same way:
// told by what their files hold, whenever these were written, so that each job has what it
// would have read. Nothing of it changes. nil keeps none.
type Kept struct {
	mu   sync.Mutex
	list []*laid // the last first
}

const (
	// mostKept is how many there are. Jobs side by side are mostly of few.
	mostKept = 8
	// mostKeptText is how long the file of one may be, in bytes: what is longer takes
	// its time anyway.
	mostKeptText = 1 << 20
)

// laid is a surface as it lies under a program.
type laid struct {
	by string // all that it depends on
	// measured is as its file has it, and surface that with the uncertainty.
	measured, surface *surface.Surface
	placement         surface.Placement
	placed            *surface.Placed
	mesh              *setup.Mesh
	unsure            Unsure
}

// lay gives the surface of a file as it lies by the options, by lay where it is not kept.
func (k *Kept) lay(in io.Reader, o *Options, lay func(io.Reader) (*laid, error)) (*laid, error) {
	if k == nil {
		return lay(in)
	}
	text, err := io.ReadAll(io.LimitReader(in, mostKeptText))
	if err != nil || len(text) == mostKeptText {
		return lay(io.MultiReader(bytes.NewReader(text), in))
	}
	by := fmt.Sprintf("%x %q %q", sha256.Sum256(text), o.Surface, o.Method)
	for _, number := range []struct {
		name string
		is   float64
	}{{"rotate", o.Rotate}, {"surface-error", o.SurfaceError}} {
		by += fmt.Sprintf(" %t %x", o.Given(number.name), number.is)
	}
	for _, at := range []*[2]float64{o.Shift, o.Datum} {
		by += fmt.Sprintf(" %t", at != nil)
		if at != nil {
			by += fmt.Sprintf(" %x", *at)
		}
	}
	if l := k.find(by); l != nil {
		return l, nil
	}
	l, err := lay(bytes.NewReader(text))
	if err == nil {
		l.by = by
		k.keep(l)
	}
	return l, err
}

func (k *Kept) find(by string) *laid {
	k.mu.Lock()
	defer k.mu.Unlock()
	at := slices.IndexFunc(k.list, func(l *laid) bool { return l.by == by })
	if at < 0 {
		return nil
	}
	l := k.list[at]
	k.list = slices.Insert(slices.Delete(k.list, at, at+1), 0, l)
	return l
}

func (k *Kept) keep(l *laid) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.list = slices.Insert(k.list, 0, l)
	k.list = k.list[:min(len(k.list), mostKept)]
}

// lay lays the surface in a file as the options have it.
func (o *Options) lay(in io.Reader) (*laid, error) {
	loaded, err := fit.Load(in, o.Surface, o.Method)
	if err != nil {
		return nil, err
	}
	h := loaded.Header()
	p := h.Placement()
	if !fit.Fits(o.Method) {
		p.Method = o.Method
	}
	if o.Given("rotate") {
		p.RotateDeg = o.Rotate
	}
	if s := o.Shift; s != nil {
		p.ShiftX, p.ShiftY = s[0], s[1]
	}
	if o.Datum != nil {
		p.Datum = o.Datum
	}
	l := &laid{measured: loaded.Surface, placement: p}
	if l.placed, err = surface.Place(loaded.Surface, p); err != nil {
		return nil, err // rather than what follows from it
	}
	if l.surface, l.unsure, err = o.unsure(loaded); err != nil {
		return nil, err
	}
	if l.surface != loaded.Surface {
		if l.placed, err = surface.Place(l.surface, p); err != nil {
			return nil, err
		}
	}
	l.mesh = setup.NewMesh(l.placed)
	return l, nil
}
