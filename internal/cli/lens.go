package cli

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/optics/measured"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// recordOptions are what the commands that make a record share.
type recordOptions struct {
	Out  string `opt:"output,o" file:"toml" is:"write the record to <FILE>; without it to standard output"`
	Name string `opt:"name" is:"what the lens is called, <TEXT>; without it the file's name"`
	From string `opt:"lens,l" file:"toml" is:"begin with the fields of this record, a TOML <FILE>"`
}

// make makes a record: it reads the one to begin with, has new fields put into it,
// writes it, and says what was found.
func (o *recordOptions) make(s *session, operand string, fill func(*measured.Draft) error) error {
	if err := files.OneStream(o.From, operand); err != nil {
		return err
	}
	d := &measured.Draft{Lens: &record.Lens{}}
	if o.From != "" {
		var err error
		if d.Lens, err = job.Read(s.open, o.From, record.ReadLens); err != nil {
			return err
		}
		if d.Name == strings.TrimSuffix(filepath.Base(o.From), ".toml") {
			d.Name = "" // it had none, or one that goes with the file
		}
	}
	d.Name = cmp.Or(o.Name, d.Name)
	if err := fill(d); err != nil {
		return err
	}
	text, err := d.Text()
	if err != nil {
		return err
	}
	if lost := o.lost(d.Lens); len(lost) > 0 {
		return usagef(fmt.Sprintf("begin with its fields, with -l %s, and give another name with -o", o.Out),
			"%s says %s, which would be lost", o.Out, phrase.List(lost))
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}); err != nil {
		return err
	}
	s.say.Lines(d.Found)
	return nil
}

// ofTests are fields that tell of one test: another one is without them, or has its own.
var ofTests = []string{"depth_mm", "depth_error_mm", "focus_shift_mm", "smallest_detail_mm", "tested_on", "tested_power_pct", "tested_feed_mm_min"}

// lost are the fields of a record where the result goes that it does not have: somebody has
// written them in.
func (o *recordOptions) lost(made *record.Lens) (list []string) {
	if files.IsStream(o.Out) {
		return nil
	}
	f, err := os.Open(o.Out)
	if err != nil {
		return nil // what there is to say of it is said where it is written
	}
	defer f.Close()
	was, err := record.ReadLens(f, o.Out)
	if err != nil {
		return nil
	}
	if was.Name == strings.TrimSuffix(filepath.Base(o.Out), ".toml") {
		was.Name = "" // it goes with the file
	}
	now, none := record.Fields(made), record.Fields(&record.Lens{})
	for k, field := range record.Fields(was) {
		if field.Default != none[k].Default && now[k].Default == none[k].Default && !slices.Contains(ofTests, field.Name) {
			list = append(list, field.Name)
		}
	}
	return list
}

// optionOf are the options that give fields of a record. A step is a length, as
// a standoff is.
var optionOf = map[string]string{
	"focal_length_mm":    "focal",
	"wavelength_nm":      "wavelength",
	"m2":                 "m2",
	"smallest_detail_mm": "detail",
	"standoff_mm":        "step",
	"tested_on":          "tested-on",
	"tested_power_pct":   "power",
	"tested_feed_mm_min": "feed",
}

// checkFields checks what options gave as the record's fields that it goes to.
func checkFields(l record.Lens) error {
	err := l.Validate()
	if e := diag.As(err); e != nil {
		return usagef("", "--%s: %s", optionOf[e.Field], e.What)
	}
	return err
}
