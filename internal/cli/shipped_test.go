package cli

import (
	"bytes"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/about"
)

// completed is what a shell would be offered: words or ends of names, and the directive
// that says which.
func completed(t *testing.T, args ...string) ([]string, cobra.ShellCompDirective) {
	t.Helper()
	var out bytes.Buffer
	if status := Main(append([]string{cobra.ShellCompNoDescRequestCmd}, args...), nil, &out, &bytes.Buffer{}); status != 0 {
		t.Fatalf("%v: status %d", args, status)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	d, err := strconv.Atoi(strings.TrimPrefix(lines[len(lines)-1], ":"))
	if err != nil {
		t.Fatalf("%v: %q", args, out.String())
	}
	return lines[:len(lines)-1], cobra.ShellCompDirective(d)
}

// each goes through all commands but help.
func each(c *cobra.Command, do func(*cobra.Command)) {
	do(c)
	for _, sub := range c.Commands() {
		if sub.Name() != "help" {
			each(sub, do)
		}
	}
}

// Every command and option is offered, and behind an option what it takes: words, names
// that end as its meaning says, folders, or nothing where it is a number.
func TestCompletions(t *testing.T) {
	each((&session{}).root(), func(c *cobra.Command) {
		path := strings.Fields(c.CommandPath())[1:]
		if c.HasParent() && c.Runnable() {
			if got, _ := completed(t, append(slices.Clone(path[:len(path)-1]), "")...); !slices.Contains(got, c.Name()) {
				t.Errorf("%s is not offered: %v", c.CommandPath(), got)
			}
		}
		var flags []string
		c.Flags().VisitAll(func(f *pflag.Flag) {
			flags = append(flags, "--"+f.Name)
			if f.NoOptDefVal != "" {
				return
			}
			got, d := completed(t, append(slices.Clone(path), "--"+f.Name, "")...)
			stands, meaning := pflag.UnquoteUsage(f)
			want := cobra.ShellCompDirectiveNoFileComp
			switch {
			case stands == "DIR":
				want = cobra.ShellCompDirectiveFilterDirs
			case stands == "FILE" && len(got) > 0:
				want = cobra.ShellCompDirectiveFilterFileExt
			case stands == "FILE":
				want = cobra.ShellCompDirectiveDefault
			}
			if d != want {
				t.Errorf("%s --%s: directive %d, not %d", c.CommandPath(), f.Name, d, want)
			}
			for _, end := range []struct{ says, is string }{{"CSV FILE", "csv"}, {"TOML FILE", "toml"}, {".png", "png"}, {"the program", "gcode"}} {
				if stands == "FILE" && strings.Contains(meaning, end.says) && !slices.Contains(got, end.is) {
					t.Errorf("%s --%s: %v, without %s", c.CommandPath(), f.Name, got, end.is)
				}
			}
		})
		if len(flags) == 0 {
			return
		}
		got, _ := completed(t, append(slices.Clone(path), "--")...)
		for _, f := range flags {
			if !slices.Contains(got, f) {
				t.Errorf("%s: %s is not offered: %v", c.CommandPath(), f, got)
			}
		}
	})
	for _, c := range []struct {
		args string
		want []string
	}{
		{"follow --slow ", []string{"never", "scaled", "burns"}},
		{"surface a.log --units ", []string{"mm", "in", "mm,mm,in", "in,in,mm"}},
		{"split --order ", []string{"best", "original"}},
		{"completion ", shells},
		{"lens rungs ", []string{"csv"}},
		{"lens show a.toml b.toml ", []string{"toml"}},
		{"follow a.gcode ", nil},
		{"help fol", []string{"follow"}},
	} {
		if got, _ := completed(t, strings.Split(c.args, " ")...); !slices.Equal(got, c.want) {
			t.Errorf("%q: %v, not %v", c.args, got, c.want)
		}
	}
}

// Scripts are there for each shell and call the tool; bash takes its own.
func TestCompletionScripts(t *testing.T) {
	for _, shell := range shells {
		var out bytes.Buffer
		if status := Main([]string{"completion", shell}, nil, &out, &bytes.Buffer{}); status != 0 || !strings.Contains(out.String(), "__completeNoDesc") {
			t.Errorf("%s: status %d, %d bytes", shell, status, out.Len())
		}
		bash, err := exec.LookPath("bash")
		if shell != "bash" || err != nil {
			continue
		}
		c := exec.Command(bash, "-n")
		c.Stdin = &out
		if said, err := c.CombinedOutput(); err != nil || len(said) > 0 {
			t.Errorf("bash: %v %s", err, said)
		}
	}
	var said bytes.Buffer
	if status := Main([]string{"completion", "csh"}, nil, &bytes.Buffer{}, &said); status != statusUsage || !strings.Contains(said.String(), "not csh") {
		t.Errorf("status %d: %s", status, said.String())
	}
}

// Every command has a page, every option its place in it, and a page that is named is
// there; man renders all without a word.
func TestManual(t *testing.T) {
	pages := map[string]*about.Page{}
	for _, p := range Manual() {
		if pages[p.String()] != nil {
			t.Errorf("two pages %s", p)
		}
		pages[p.String()] = p
	}
	n := 0
	each((&session{}).root(), func(c *cobra.Command) {
		n++
		p := pages[name(c).String()]
		if p == nil {
			t.Fatalf("no page for %s", c.CommandPath())
		}
		text := strings.NewReplacer(`\-`, "-", `\(aq`, "'").Replace(string(p.Roff()))
		c.Flags().VisitAll(func(f *pflag.Flag) {
			letter := ""
			if f.Shorthand != "" {
				letter = "-" + f.Shorthand + ", "
			}
			entry := "\n.TP\n" + letter + "--" + f.Name
			if !strings.Contains(text, entry+" ") && !strings.Contains(text, entry+"\n") {
				t.Errorf("%s: no --%s", p, f.Name)
			}
		})
		for _, sub := range c.Commands() {
			if sub.Name() != "help" && !slices.Contains(p.See, name(sub).String()) {
				t.Errorf("%s does not name %s", p, name(sub))
			}
			if entry := ".TP\n" + sub.Name() + "\n" + sub.Short + "\n"; sub.Runnable() && sub.Name() != "help" && !strings.Contains(text, entry) {
				t.Errorf("%s does not say what %s does", p, sub.Name())
			}
		}
	})
	if n != len(pages) {
		t.Errorf("%d pages for %d commands and topics", len(pages), n)
	}
	groff, err := exec.LookPath("groff")
	for _, p := range pages {
		for _, see := range p.See {
			if pages[see] == nil {
				t.Errorf("%s names %s, which is not there", p, see)
			}
		}
		if err != nil {
			continue
		}
		c := exec.Command(groff, "-man", "-Tutf8", "-ww", "-z")
		c.Stdin = bytes.NewReader(p.Roff())
		if said, err := c.CombinedOutput(); err != nil || len(said) > 0 {
			t.Errorf("%s: %v %s", p, err, said)
		}
	}
	if err != nil {
		t.Skip("no groff to render the pages with")
	}
}
