package cli

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/optics"
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
			hint := "see: " + c.CommandPath() + " --help"
			if len(args) == 0 {
				return usagef(hint, "lens wants fit, rungs, beam or show")
			}
			return usagef(hint, "lens wants fit, rungs, beam or show, not %s", args[0])
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

// finding is what a command found out: said, and kept in the record.
type finding struct{ lines []string }

func (f *finding) say(format string, args ...any) {
	f.lines = append(f.lines, strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) { // of a file's name: it would end the comment
			return unicode.ReplacementChar
		}
		return r
	}, fmt.Sprintf(format, args...)))
}

// A record must stay well within what is read of a settings file, however much
// was found.
const (
	mostComments   = 25
	longestComment = 240 // characters
)

// comments gives the lines that a record keeps of what was found.
func (f *finding) comments() []string {
	var out []string
	for i, line := range f.lines {
		if i == mostComments {
			return append(out, fmt.Sprintf("and %d lines more", len(f.lines)-i))
		}
		if r := []rune(line); len(r) > longestComment {
			line = string(r[:longestComment]) + " ..."
		}
		out = append(out, line)
	}
	return out
}

// writeRecord writes the record with what was found as comments before it,
// and says that too.
func (s *session) writeRecord(o *recordOptions, l *job.Lens, f *finding) error {
	if err := s.files.CheckOutputs(o.out); err != nil {
		return err
	}
	out, err := s.files.Create(o.out)
	if err != nil {
		return err
	}
	for _, line := range f.comments() {
		if _, err := io.WriteString(out, "# "+line+"\n"); err != nil {
			return err
		}
	}
	if err := job.WriteLens(out, l); err != nil {
		return err
	}
	if err := out.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	for _, line := range f.lines {
		fmt.Fprintf(s.stderr, "sagitta: %s\n", line)
	}
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

// plusMinus writes an estimate times factor, to the digits that its
// uncertainty leaves.
func plusMinus(e optics.Estimate, factor float64) string {
	v, u := e.Value*factor, e.U*factor
	decimals := 4
	if u > 0 {
		decimals = min(max(1-int(math.Floor(math.Log10(u))), 0), 6)
	}
	// An uncertainty below any digit that is shown says no more than that.
	return fmt.Sprintf("%.*f ± %.*f", decimals, v, decimals, u)
}

// signed writes mm with a sign, but for zero.
func signed(v float64) string {
	s := strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
	if s == "-0" {
		s = "0"
	}
	if v > 0 && s != "0" {
		s = "+" + s
	}
	return s
}

// sidesOf writes a depth as "-1.5 to +1.5".
func sidesOf(near, far float64) string { return fmt.Sprintf("-%.4g to +%.4g", near, far) }

// prefixed puts where they are from before measurements that lead to nothing.
func prefixed(prefix string, err error) error {
	if diag.Is(err, diag.Unmet) {
		return diag.Errorf(diag.Unmet, diag.Hint(err), "%s: %v", prefix, err)
	}
	return err
}

// percent writes a growth, 1.10 as 10.
func percent(k float64) string { return fmt.Sprintf("%.0f", 100*(k-1)) }
