package cli

import (
	"bytes"
	"io"
	"reflect"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/about"
	"sagitta/internal/cli/files"
)

type versionOptions struct{}

func (*versionOptions) run(s *session, _ []string) error {
	return s.files.Write(files.Result{Text: []byte(built())})
}

// built says how the tool was made.
func built() string {
	info, _ := debug.ReadBuildInfo()
	return strings.Join(about.Build(Version, info), "\n") + "\n"
}

type completionOptions struct{}

// shells are those that completions are made for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func (*completionOptions) run(s *session, args []string) error {
	var script bytes.Buffer
	if err := writeCompletion(&script, s.root(), args[0]); err != nil {
		return err
	}
	return s.files.Write(files.Result{Text: script.Bytes()})
}

// writeCompletion writes the script that has a shell complete the commands of root. What
// options mean is too long to stand beside them there.
func writeCompletion(w io.Writer, root *cobra.Command, shell string) error {
	switch shell {
	case "bash":
		return root.GenBashCompletionV2(w, false)
	case "zsh":
		return root.GenZshCompletionNoDesc(w)
	case "fish":
		return root.GenFishCompletion(w, false)
	case "powershell":
		return root.GenPowerShellCompletion(w)
	}
	return usagef("see: sagitta completion --help", "completion wants %s or powershell, not %s", strings.Join(shells[:3], ", "), shell)
}

// ship adds to root what tells of the tool itself.
func (s *session) ship(root *cobra.Command) {
	root.Version = Version
	root.SetVersionTemplate(built())
	completion := s.command("completion", operand("shell"), &completionOptions{})
	completion.ValidArgs = shells
	completion.ValidArgsFunction = nil
	root.AddCommand(s.command("version", noOperand, &versionOptions{}), completion)
}

// complete has shells complete the operands and options of c, which are those of the
// struct that at points to.
func complete(c *cobra.Command, at any) {
	operands, more := about.Operands(c.Use)
	c.ValidArgsFunction = func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		n := len(args)
		if more {
			n = min(n, len(operands)-1)
		}
		if n >= len(operands) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return completions(operands[n])
	}
	for _, o := range described(at) {
		if o.Value.Kind() == reflect.Bool {
			continue
		}
		v := about.Value{}
		stands, _ := pflag.UnquoteUsage(c.Flag(o.Name))
		ends, named := o.Tag.Lookup("file")
		switch {
		case strings.Contains(o.In, "|"):
			v.Words = strings.Split(o.In, "|")
		case stands == "DIR":
			v.Dir = true
		case named || stands == "FILE":
			v = about.FileOf(ends)
		}
		err := c.RegisterFlagCompletionFunc(o.Name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return completions(v)
		})
		if err != nil {
			panic(err) // there is no such option, or it was registered before
		}
	}
}

// completions are those of a value.
func completions(v about.Value) ([]string, cobra.ShellCompDirective) {
	switch {
	case v.Dir:
		return nil, cobra.ShellCompDirectiveFilterDirs
	case v.File && len(v.Ends) > 0:
		return v.Ends, cobra.ShellCompDirectiveFilterFileExt
	case v.File:
		return nil, cobra.ShellCompDirectiveDefault
	}
	return v.Words, cobra.ShellCompDirectiveNoFileComp
}

// Manual gives the pages of the manual: one for each command, and one for each form of
// file that a topic of the help explains.
func Manual() (pages []*about.Page) {
	root := (&session{}).root()
	root.InitDefaultVersionFlag()
	var add func(*cobra.Command)
	add = func(c *cobra.Command) {
		c.InitDefaultHelpFlag()
		p := page(c)
		for _, sub := range c.Commands() {
			if sub.Name() == "help" {
				continue
			}
			if sub.Runnable() {
				p.Commands = append(p.Commands, about.Entry{Name: sub.Name(), Meaning: sub.Short})
			}
			p.See = append(p.See, name(sub).String())
		}
		pages = append(pages, p)
		for _, sub := range c.Commands() {
			if sub.Name() != "help" {
				add(sub)
			}
		}
	}
	add(root)
	return pages
}

// name is what the page of a command or topic is called.
func name(c *cobra.Command) about.Name {
	section := 1
	if c.HasParent() && !c.Runnable() {
		section = 5
	}
	return about.Name{Name: strings.ReplaceAll(c.CommandPath(), " ", "-"), Section: section}
}

// page is that of a command or topic, without the commands below it.
func page(c *cobra.Command) *about.Page {
	p := &about.Page{Name: name(c), Short: c.Short, Long: c.Long, Examples: c.Example}
	switch {
	case !c.HasParent():
		p.Usage = c.Use + " COMMAND"
	case c.Runnable():
		p.Usage = c.Parent().CommandPath() + " " + c.Use
	}
	if c.HasParent() {
		p.See = []string{name(c.Parent()).String()}
	}
	if p.Section != 1 {
		return p
	}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		stands, meaning := pflag.UnquoteUsage(f)
		option := strings.TrimSpace("--" + f.Name + " " + stands)
		if f.Shorthand != "" {
			option = "-" + f.Shorthand + ", " + option
		}
		switch f.DefValue {
		case "", "0", "false", "[]":
		default:
			meaning += " (default " + f.DefValue + ")"
		}
		p.Options = append(p.Options, about.Entry{Name: option, Meaning: meaning})
	})
	return p
}
