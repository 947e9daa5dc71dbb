package cli

import (
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/optics/measured"
	"sagitta/internal/record"
)

func (s *session) lensCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "lens (fit | rungs | beam | show)",
		Short: "make a lens record from what is known of a lens, or show what records mean",
		Long: `lens makes a lens record: from the rungs of a focus ladder that stayed sharp, from
widths of the beam measured over Z, or from the beam's own data; and shows what
records mean, side by side. The record tells the other commands how much depth
the lens has.`,
		Example: `    sagitta lens rungs --sharp=-1.5,1.5 --detail 0.5 -o short.toml
    sagitta lens show short.toml long.toml --plot lenses.svg`,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef(seeHelp(c), "lens wants fit, rungs, beam or show")
			}
			return usagef(seeHelp(c), "lens wants fit, rungs, beam or show, not %s", args[0])
		},
	}
	c.AddCommand(s.lensFitCommand(), s.lensRungsCommand(), s.lensBeamCommand(), s.lensShowCommand())
	return c
}

// recordOptions are what the commands that make a record share.
type recordOptions struct{ out, name, from string }

func (o *recordOptions) bind(f *pflag.FlagSet) {
	f.StringVarP(&o.out, "output", "o", "", "write the record to `FILE`; without it to standard output")
	f.StringVar(&o.name, "name", "", "what the lens is called, `TEXT`; without it the file's name")
	f.StringVarP(&o.from, "lens", "l", "", "begin with the fields of this record, a TOML `FILE`")
}

// begin gives the record that new fields go into.
func (s *session) begin(o *recordOptions, operand string) (*measured.Draft, error) {
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

// writeRecord writes the record, and says what was found.
func (s *session) writeRecord(o *recordOptions, d *measured.Draft) error {
	text, err := d.Text()
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.out, Text: text}); err != nil {
		return err
	}
	s.files.ClearProgress()
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
