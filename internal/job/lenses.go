package job

import (
	"errors"
	"fmt"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// Lens is a lens given, or what --depth says in its place.
type Lens struct {
	// Name names it in messages, and File is its record.
	Name, File string
	Record     *record.Lens // nil where --depth stands for it
	// Depth is that of the record, before anything is taken off.
	Depth record.LensDepth
	// Defocus is the wanted defocus where this lens is the first of those that are in: the
	// record's usual one, where none was given.
	Defocus float64
	// Budget is what becomes of the depth, and Writing and Checking what is
	// left to use of it.
	Budget            focus.Budget
	Writing, Checking focus.Depth
	// Out is why it cannot be used, nil where it can.
	Out error

	// ruled are its depths for the burns of rules.
	ruled    []ruledDepth
	given    string // as --depth
	narrowed bool   // to a detail, see Advise
}

// Taken says what a depth that was given in place of a record was taken for, "" where
// there is a record: at a bench "depth" is mostly that of the cut.
func (l *Lens) Taken() string {
	if l.Record != nil {
		return ""
	}
	d := l.Depth
	return fmt.Sprintf("sharp from %s mm nearer to %s mm further; not a depth of cut", phrase.Trimmed(d.Near, 3), phrase.Trimmed(d.Far, 3))
}

// doubtedMM is from which depth on one that was given in place of a record may rather be
// meant as that of a cut: few lenses are sharp so far (common practice, no source).
const doubtedMM = 2

// Doubted reports whether the depth was given, and so great that the verdict is to say
// what it was taken for.
func (l *Lens) Doubted() bool {
	return l.Record == nil && max(l.Depth.Near, l.Depth.Far) >= doubtedMM
}

// ReadLens reads a lens record, or takes a depth in its place where one is
// given. The lens is out where its depth is not known.
func ReadLens(open Source, file, depth string) (Lens, error) {
	if depth != "" {
		d, err := focus.ParseDepth(depth)
		if err != nil {
			return Lens{}, wrong("", "--%v", err)
		}
		return Lens{Name: "given as --depth", Depth: record.LensDepth{Depth: d, From: "--depth"}, given: depth}, nil
	}
	r, err := Read(open, file, record.ReadLens)
	if err != nil {
		return Lens{}, err
	}
	l := Lens{Name: r.Name, File: file, Record: r}
	var known bool
	if l.Depth, known = r.Depth(); !known {
		l.Out = wrong("mark a focus series and write depth_mm into the record, or give --depth",
			"%s: a lens record without depth: %s", file, l.Depth.From)
	}
	return l, nil
}

// LensOf is the lens that a zone names, nil where it was not given. One depth in
// place of a lens serves whatever zones name.
func (j *Job) LensOf(name string) *Lens {
	for i := range j.Lenses {
		if l := &j.Lenses[i]; l.Name == name || l.Record == nil {
			return l
		}
	}
	return nil
}

// In are the lenses that are not out.
func (j *Job) In() (list []*Lens) {
	for i := range j.Lenses {
		if l := &j.Lenses[i]; l.Out == nil {
			list = append(list, l)
		}
	}
	return list
}

// readLenses reads the records.
func (j *Job) readLenses(open Source, want Want) error {
	files := j.Options.Lenses
	if j.Options.Depth != "" {
		files = []string{""}
	}
	for k, file := range files {
		l, err := ReadLens(open, file, j.Options.Depth)
		if err != nil {
			return err
		}
		for i := range j.Lenses {
			if j.Lenses[i].Name == l.Name {
				return wrong("give each record a name of its own", "two lenses are called %s", l.Name)
			}
		}
		if l.Out != nil && want != AnyLens {
			return l.Out
		}
		if l.Defocus = j.Defocus; l.Out == nil && (want == AnyLens || k == 0) {
			j.usualDefocus(&l)
		}
		if want != AnyLens {
			j.Defocus = l.Defocus
		}
		j.Lenses = append(j.Lenses, l)
		if l.Depth.Assumed {
			j.note("assumed: the depth of lens %s is %s mm, from %s", l.Name, phrase.Sides(l.Depth.Near, l.Depth.Far), l.Depth.From)
		}
	}
	return nil
}

// usualDefocus takes the wanted defocus from the record where none was given; of
// any lenses each keeps its own.
func (j *Job) usualDefocus(l *Lens) {
	if l.Record == nil || l.Record.UsualDefocusMM == nil || j.Given("defocus") {
		return
	}
	d := l.Record.UsualDefocusMM
	l.Defocus = *d
	on := ""
	if l.Record.TestedOn != "" {
		on = ", as usual on " + l.Record.TestedOn
	}
	j.note("assumed: a defocus of %g mm%s (usual_defocus_mm of %s); --defocus 0 for none", *d, on, l.File)
}

// usable works out what is left of each lens's depth, bench and surface having
// taken theirs.
func (j *Job) usable(b focus.Budget, want Want) error {
	in := 0
	for i := range j.Lenses {
		l := &j.Lenses[i]
		if l.Out == nil {
			if err := l.use(b, l.Depth); err != nil && (want != AnyLens || !errors.Is(err, focus.ErrSpent)) {
				return err
			}
		}
		if l.Out == nil {
			in++
		} else {
			j.note("lens %s is out: %v", l.Name, l.Out)
		}
	}
	if in == 0 && want != MaybeLens {
		return j.Lenses[len(j.Lenses)-1].Out
	}
	return nil
}

// use works out what a budget leaves of a depth.
func (l *Lens) use(b focus.Budget, d record.LensDepth) error {
	b.Lens, b.LensFrom = d.Depth, d.From
	if l.File != "" {
		b.LensFrom = l.File + ", " + d.From
	}
	if l.Record != nil && l.Record.DepthErrorMM != nil {
		b.DepthError = focus.Term{MM: *l.Record.DepthErrorMM, From: "depth_error_mm"}
	}
	l.Budget = b
	if l.Writing, l.Out = b.Usable(focus.Writing); l.Out == nil {
		l.Checking, l.Out = b.Usable(focus.Checking)
	}
	return l.Out
}

// TakeRules has the job do burns by rules, which are called name, and works out what they
// leave of each lens's depth. A lens that cannot do what one of them wants is out; the
// error is that of the last where all are.
func (j *Job) TakeRules(name string, rules record.Burns) error {
	j.Rules = Rules{Burns: rules, name: name, use: j.Use}
	var last error
	in := 0
	for i := range j.Lenses {
		l := &j.Lenses[i]
		if l.Out != nil {
			continue
		}
		err := l.takeRules(name, rules)
		if e := diag.As(err); e != nil && e.Kind == diag.Setting && !errors.Is(err, focus.ErrSpent) {
			return err // more must be said
		}
		if last = err; err == nil {
			in++
			continue
		}
		if l.Out = err; len(j.Lenses) > 1 {
			j.note("lens %s is out: %v", l.Name, err)
		}
	}
	if in == 0 {
		return last
	}
	return nil
}

func (j *Job) note(format string, args ...any) {
	j.Note(fmt.Sprintf(format, args...))
}
