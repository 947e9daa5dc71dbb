package cli

import (
	"bytes"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
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
func (s *session) begin(o *recordOptions, operand string) (*job.Lens, error) {
	l := &job.Lens{}
	if err := files.OneStream(o.from, operand); err != nil {
		return nil, err
	}
	if o.from != "" {
		var err error
		if l, err = files.Read(s.files, o.from, job.ReadLens); err != nil {
			return nil, err
		}
		if l.Name == strings.TrimSuffix(filepath.Base(o.from), ".toml") {
			l.Name = "" // it had none, or one that goes with the file
		}
	}
	if o.name != "" {
		l.Name = o.name
	}
	return l, nil
}

// writeRecord writes the record with what was found as comments before it,
// and says that too.
func (s *session) writeRecord(o *recordOptions, l *job.Lens, f *say.Finding) error {
	var b bytes.Buffer
	b.WriteString(f.Comments())
	if err := job.WriteLens(&b, l); err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.out, Text: b.Bytes()}); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Found(f)
	return nil
}

// recordDigits are the digits of a measured or computed number in a record:
// more than any measurement of a beam has.
const recordDigits = 6

func rounded(v float64) *float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', recordDigits, 64), 64)
	return &r
}

// option checks a number that an option gave as the record's field that it
// goes to.
func option(name string, l job.Lens) error {
	err := l.Validate()
	if e := diag.As(err); e != nil {
		return usagef("", "--%s: %s", name, e.What)
	}
	return err
}

// prefixed puts where they are from before measurements that lead to nothing.
func prefixed(prefix string, err error) error {
	if diag.Is(err, diag.Unmet) {
		return diag.Errorf(diag.Unmet, diag.Hint(err), "%s: %v", prefix, err)
	}
	return err
}
