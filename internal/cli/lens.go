package cli

import (
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/optics/measured"
	"sagitta/internal/record"
)

// recordOptions are what the commands that make a record share.
type recordOptions struct {
	out, name, from string
	given           func(option string) bool
}

func (o *recordOptions) bind(f *pflag.FlagSet) {
	o.given = f.Changed
	f.StringVarP(&o.out, "output", "o", "", "write the record to `FILE`; without it to standard output")
	f.StringVar(&o.name, "name", "", "what the lens is called, `TEXT`; without it the file's name")
	f.StringVarP(&o.from, "lens", "l", "", "begin with the fields of this record, a TOML `FILE`")
}

// begin gives the record that new fields go into.
func (o *recordOptions) begin(s *session, operand string) (*measured.Draft, error) {
	if err := files.OneStream(o.from, operand); err != nil {
		return nil, err
	}
	d := &measured.Draft{Lens: &record.Lens{}}
	if o.from != "" {
		var err error
		if d.Lens, err = files.Read(s.files, o.from, record.ReadLens); err != nil {
			return nil, err
		}
		if d.Name == strings.TrimSuffix(filepath.Base(o.from), ".toml") {
			d.Name = "" // it had none, or one that goes with the file
		}
	}
	if o.name != "" {
		d.Name = o.name
	}
	return d, nil
}

// write writes the record, and says what was found.
func (o *recordOptions) write(s *session, d *measured.Draft) error {
	text, err := d.Text()
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.out, Text: text}); err != nil {
		return err
	}
	s.say.Lines(d.Found)
	return nil
}

// checkField checks a number that an option gave as the record's field that it
// goes to.
func checkField(name string, l record.Lens) error {
	err := l.Validate()
	if e := diag.As(err); e != nil {
		return usagef("", "--%s: %s", name, e.What)
	}
	return err
}
