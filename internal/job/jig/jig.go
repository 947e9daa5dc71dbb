package jig

import (
	"bytes"
	"fmt"
	"io"

	"github.com/paulmach/orb"

	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/record"
	"sagitta/internal/rewrite/placed"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	verify "sagitta/internal/verify/placed"
)

// Jig is a job whose program is that of one part.
type Jig struct {
	*job.Job
	// Name is that of the part's program, and Open opens it and what places name.
	Name string
	Open job.Source
	// Places are where parts lie, of a file called File, and From is the number of the first
	// that is made.
	Places []record.Place
	File   string
	From   int

	burned orb.Bound // of the part, in its own coordinates
}

// Output is where the program of all is written, to be read again.
type Output interface {
	io.Writer
	io.ReaderAt
}

// Compose writes the program of all parts, and gives where each begins, in the order of the
// program.
func (j *Jig) Compose(out Output) ([]placed.Part, error) {
	if j.From > len(j.Places) {
		return nil, diag.Errorf(diag.Setting, "", "--from %d: %s has %d places", j.From, j.File, len(j.Places))
	}
	var list []placed.Place
	var check []verify.Place
	for k := range j.Places {
		p := &j.Places[k]
		if p.Skip || k+1 < j.From {
			continue
		}
		list = append(list, placed.Place{Number: k + 1, X: p.Shift[0], Y: p.Shift[1], RotateDeg: p.Rotate, Says: p.String()})
		check = append(check, verify.Place{Number: k + 1, X: p.Shift[0], Y: p.Shift[1], RotateDeg: p.Rotate})
	}
	if list == nil {
		return nil, diag.Errorf(diag.Setting, "leave skip = true out at one at least", "%s: all places from number %d on are skipped", j.File, max(j.From, 1))
	}
	if err := j.survey(); err != nil {
		return nil, err
	}
	m := j.Machine
	opt := placed.Options{Name: j.Name, Machine: j.Config, ZPlusAway: m.ZPlus == record.Away, DecimalsMM: m.DecimalsMM(), DecimalsInch: m.DecimalsInch(),
		Comments: m.Comments, Of: len(j.Places), LineMax: record.Known(m.LineMax)}
	part := func() (io.ReadCloser, error) { return j.Open(j.Name) }
	var size counted
	parts, err := placed.Compose(part, io.MultiWriter(out, &size), list, opt)
	if err != nil {
		return nil, err
	}
	last := max(decimal(m.DecimalsMM()), 25.4*decimal(m.DecimalsInch()))
	return parts, verify.Run(part, io.NewSectionReader(out, 0, int64(size)), check, verify.Options{Machine: j.Config, Name: j.Name, AllName: "the program of all parts", LateralMM: last})
}

func decimal(n int) float64 { return program.Number{Mant: 1, Dec: int8(n)}.Float() }

// counted counts what is written.
type counted int64

func (c *counted) Write(b []byte) (int, error) {
	*c += counted(len(b))
	return len(b), nil
}

// survey finds out where the part burns.
func (j *Jig) survey() error {
	in, err := j.Open(j.Name)
	if err != nil {
		return err
	}
	defer in.Close()
	r, ip := program.NewReader(in, j.Name), machine.New(j.Config)
	var m machine.Move
	first := true
	for {
		b, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if err := ip.Step(b, &m); err != nil {
			return err
		}
		if !m.Burn {
			continue
		}
		const steps = 64 // of an arc, which is off its chords by less than a thousandth of its radius then
		for k := range steps + 1 {
			q := orb.Point(m.XY(float64(k) / steps))
			if first {
				j.burned, first = q.Bound(), false
			}
			j.burned = j.burned.Extend(q)
			if m.Kind != machine.Arc && k == 0 {
				j.burned = j.burned.Extend(orb.Point{m.To.X, m.To.Y})
				break
			}
		}
	}
	if first {
		return diag.Errorf(diag.Unmet, "", "%s: nothing burns at all", j.Name)
	}
	return nil
}

// Surface gives the file of the surface as the stock lies at the places, after what readings
// tell of it; notes are what was assumed and found.
func (j *Jig) Surface(maker string) (text []byte, notes []string, err error) {
	touched, err := j.touched()
	if err != nil {
		return nil, nil, err
	}
	raised, notes, err := j.raised(touched)
	if err != nil {
		return nil, nil, err
	}
	heights := j.Heights()
	if len(raised) > 0 {
		if heights, err = heights.Raised(raised); err != nil {
			return nil, nil, diag.Errorf(diag.Setting, "", "%s: %v", j.File, err)
		}
		if j.Measured().Header().MadeOf != "" {
			notes = append(notes, fmt.Sprintf("caution: %s is itself what was made of another surface for the places of a jig: what is raised or tilted here comes on top of that", j.Job.Surface))
		}
	}
	on, err := j.Again(heights)
	if err != nil {
		return nil, nil, err
	}
	borne, err := j.judge(touched, on)
	if err != nil {
		return nil, nil, err
	}
	h := heights.Header()
	if h.Method = j.Placed.Method(); h.MadeOf == "" {
		h.MadeOf = "sha256:" + j.Measured().Source().Digest
	}
	made, err := heights.WithHeader(h)
	if err != nil {
		return nil, nil, err
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s place\n", maker)
	err = file.Write(&b, made)
	return b.Bytes(), append(notes, borne...), err
}

// beside in mm are how far the stock of a place is taken to go on beside what is burned,
// where nobody says: the greatest of these at which no two overlap.
var beside = []float64{5, 2, 1, 0.5}

// raised are the places whose stock lies otherwise than measured, on the surface.
func (j *Jig) raised(touched []touches) (list []surface.Raise, notes []string, err error) {
	var at []int
	for k := range j.Places {
		if j.Places[k].Raised() || len(touched[k].points) > 0 {
			at = append(at, k)
		}
	}
	if at == nil {
		return nil, nil, nil
	}
	if m := j.Placed.Method(); m != "bilinear" {
		return nil, nil, diag.Errorf(diag.Setting, "give --method bilinear", "%s: stock that is raised or tilted at a place wants heights that are read bilinearly, not %s", j.File, m)
	}
	if j.Placed.Surface().Header().WrapsYMM > 0 {
		return nil, nil, diag.Errorf(diag.Setting, "", "%s: a round that turns has no stock that is raised or tilted at a place", j.File)
	}
	assumed := false
	for _, pad := range beside {
		list = list[:0]
		for _, k := range at {
			p := &j.Places[k]
			box := j.burned.Pad(pad)
			if s := p.StockMM; s != nil {
				box = orb.Bound{Min: orb.Point{s[0], s[1]}, Max: orb.Point{s[2], s[3]}}
			} else {
				assumed = true
			}
			list = append(list, j.box(p, box))
		}
		a, b := overlapping(list)
		if a < 0 {
			if assumed {
				notes = append(notes, fmt.Sprintf("assumed: at places that are raised, tilted or touched, the stock goes %g mm beside what is burned (stock_mm says otherwise)", pad))
			}
			break
		}
		if !assumed || pad == beside[len(beside)-1] {
			return nil, nil, diag.Errorf(diag.Setting, "say with stock_mm where the stock lies, or part them", "%s: the stock of places %d and %d overlaps, and cannot stand at two heights", j.File, at[a]+1, at[b]+1)
		}
	}
	for n, k := range at {
		p := &j.Places[k]
		r := &list[n]
		mm, tilt := record.Known(p.RaiseMM), [2]float64{}
		if p.Tilt != nil {
			tilt = *p.Tilt
		}
		if !p.Raised() {
			if mm, tilt, err = j.fitted(k, &touched[k], r); err != nil {
				return nil, nil, err
			}
			notes = append(notes, fmt.Sprintf("place %d: its readings say that the stock is raised by %+.3f mm and tilted by %+.5f along X, %+.5f along Y", k+1, mm, tilt[0], tilt[1]))
		}
		// Along the axes of the surface: a small step there is one of the program, turned.
		x0, y0 := j.Placed.Program(0, 0)
		xx, xy := j.Placed.Program(1, 0)
		yx, yy := j.Placed.Program(0, 1)
		r.MM = mm
		r.Slope = [2]float64{tilt[0]*(xx-x0) + tilt[1]*(xy-y0), tilt[0]*(yx-x0) + tilt[1]*(yy-y0)}
	}
	return list, notes, nil
}

// box is a box of the part at a place, on the surface.
func (j *Jig) box(p *record.Place, part orb.Bound) surface.Raise {
	var b orb.Bound
	for k, q := range []orb.Point{part.Min, part.Max, {part.Min[0], part.Max[1]}, {part.Max[0], part.Min[1]}} {
		x, y := verify.At(q[0], q[1], p.Shift[0], p.Shift[1], p.Rotate)
		x, y = j.Placed.Local(x, y)
		if k == 0 {
			b = orb.Point{x, y}.Bound()
		}
		b = b.Extend(orb.Point{x, y})
	}
	ax, ay := j.Placed.Local(p.Shift[0], p.Shift[1])
	return surface.Raise{X0: b.Min[0], Y0: b.Min[1], X1: b.Max[0], Y1: b.Max[1], At: [2]float64{ax, ay}}
}

// overlapping are two that overlap, -1 for none.
func overlapping(list []surface.Raise) (a, b int) {
	for b := range list {
		for a := range b {
			if list[a].Overlap(&list[b]) {
				return a, b
			}
		}
	}
	return -1, -1
}
