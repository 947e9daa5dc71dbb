package desk

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"sync"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/stock"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
)

// Seen is what lies on the bench, as a drawing and in words.
type Seen struct {
	Picture string `json:"picture"`
	// Program says what is in the program, and Stock what is known of the stock.
	Program string `json:"program"`
	Stock   string `json:"stock"`
	// Wrong are the parts that cannot be drawn, by the field of the page.
	Wrong []choice.Lack `json:"wrong"`
}

// stock draws what lies on the bench. What cannot be read is said, and the rest drawn.
func (d *Desk) stock(r *http.Request) (any, error) {
	c, err := d.keep.shown(r)
	if err != nil {
		return nil, err
	}
	seen := &Seen{Wrong: []choice.Lack{}}
	wrong := func(field string, err error) {
		if err != nil {
			seen.Wrong = append(seen.Wrong, choice.Lack{Field: field, Text: err.Error()})
		}
	}
	draw := &stock.Drawing{Travel: true}
	if c.Program != "" {
		draw.Job, err = d.job(c)
		wrong("program", err)
		if err == nil {
			seen.Program = saidOf(draw.Job)
		}
	}
	surf, err := d.surface(c)
	wrong("heights-file", err)
	if surf != nil {
		draw.Stock, err = d.lay(surf, c)
		wrong("option-datum", err)
	}
	if draw.Stock != nil {
		low, high, _, _ := draw.Stock.Range()
		seen.Stock = fmt.Sprintf("Heights from %s to %s mm over the datum", phrase.Signed(low, 3), phrase.Signed(high, 3))
	}
	if c.KeepOut != "" {
		draw.Boxes, err = fromFile(d, c.KeepOut, file.ReadKeepOut)
		wrong("keep-out", err)
	}
	seen.Picture = draw.SVG()
	return seen, nil
}

// fromFile reads a file of the folder.
func fromFile[T any](d *Desk, name string, read func(io.Reader, string) (T, error)) (is T, err error) {
	in, err := d.folder.Open(name)
	if err != nil {
		return is, err
	}
	defer in.Close()
	return read(in, name)
}

// surface reads the heights that are chosen; nil where there are none that a surface can
// be read from at once.
func (d *Desk) surface(c *choice.Choices) (*surface.Surface, error) {
	if c.Heights.From == choice.FromTable {
		text, wrong := c.Heights.Table.CSV()
		if wrong != nil {
			return nil, nil // said where it is typed
		}
		s, err := file.Read(bytes.NewReader(text), c.Names()["table"])
		if err != nil {
			return nil, nil
		}
		return s, nil
	}
	if c.Heights.File == "" {
		return nil, nil
	}
	s, err := fromFile(d, c.Heights.File, file.Read)
	if err != nil {
		return nil, nil // it may be measured heights of which a surface is to be made
	}
	return s, nil
}

// lay lays a surface down as it was typed; where heights cannot count from the datum they
// count from the surface's zero, and the error says why.
func (d *Desk) lay(s *surface.Surface, c *choice.Choices) (*surface.Placed, error) {
	said := s.Header()
	at := said.Placement()
	at.Method = "bilinear" // a drawing needs no better
	pair := func(name string) *[2]float64 {
		var v [2]float64
		text, err := choice.Pair(c.Options[name])
		if err != nil {
			return nil
		}
		_, _ = fmt.Sscanf(text, "%g,%g", &v[0], &v[1])
		return &v
	}
	if v := pair("shift"); v != nil {
		at.ShiftX, at.ShiftY = v[0], v[1]
	}
	if n, err := choice.Number(c.Options["rotate"]); err == nil {
		_, _ = fmt.Sscan(n, &at.RotateDeg)
	}
	at.Datum = pair("datum")
	p, err := surface.Place(s, at)
	if err == nil {
		return p, nil
	}
	at.Raw = true
	raw, failed := surface.Place(s, at)
	if failed != nil {
		return nil, err
	}
	return raw, err
}

// jobs keeps the program that was read last.
type jobs struct {
	mu   sync.Mutex
	key  string
	read *stock.Job
}

// job reads the program that is chosen, on the machine that is.
func (d *Desk) job(c *choice.Choices) (*stock.Job, error) {
	m := record.DefaultMachine()
	if c.Machine != "" {
		var err error
		if m, err = fromFile(d, c.Machine, record.ReadMachine); err != nil {
			m = record.DefaultMachine()
		}
	}
	program, err := d.folder.Version(c.Program)
	if err != nil {
		return nil, err
	}
	machine, _ := d.folder.Version(c.Machine)
	d.drawn.mu.Lock()
	defer d.drawn.mu.Unlock()
	if key := program + "\n" + machine; d.drawn.key != key || d.drawn.read == nil {
		j, err := fromFile(d, c.Program, func(r io.Reader, name string) (*stock.Job, error) { return stock.ReadJob(r, name, m) })
		if err != nil {
			return nil, err
		}
		d.drawn.key, d.drawn.read = key, j
	}
	return d.drawn.read, nil
}

// saidOf says what is in a program.
func saidOf(j *stock.Job) string {
	if j.Burns == 0 {
		return "Nothing in it burns: no move has the beam on."
	}
	unit := "mm"
	if j.Inches {
		unit = "inches"
	}
	b := j.Box
	return fmt.Sprintf("It is in %s: %s, %s mm long, from X%s Y%s to X%s Y%s mm; %s at its own feeds.",
		unit, phrase.Count(j.Burns, "burn"), phrase.Fixed(j.BurnMM, 0), phrase.Trimmed(b.Left(), 3), phrase.Trimmed(b.Bottom(), 3),
		phrase.Trimmed(b.Right(), 3), phrase.Trimmed(b.Top(), 3), phrase.Clock(j.Seconds))
}
