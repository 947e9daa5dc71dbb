package cli

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Every command says how it is used, what it does, and that at length in lines
// that a terminal shows whole; what does something has an example of itself; and
// every option says what it means.
func TestHelp(t *testing.T) {
	texts, err := helpTexts.ReadDir("help")
	if err != nil {
		t.Fatal(err)
	}
	commands := 0
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		if c.Name() == "help" {
			return // cobra's own
		}
		commands++
		if c.Short == "" || c.Long == "" {
			t.Errorf("%s is not explained", c.CommandPath())
		}
		for line := range strings.Lines(c.Long) {
			if utf8.RuneCountInString(strings.TrimRight(line, "\n")) > 80 {
				t.Errorf("%s: too long: %s", c.CommandPath(), line)
			}
		}
		if c.Runnable() && !strings.Contains(c.Example, c.CommandPath()) {
			t.Errorf("%s has no example of itself", c.CommandPath())
		}
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if f.Usage == "" {
				t.Errorf("%s: --%s is not explained", c.CommandPath(), f.Name)
			}
		})
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk((&session{}).root())
	if commands != len(texts) {
		t.Errorf("%d commands and %d help texts", commands, len(texts))
	}
}
