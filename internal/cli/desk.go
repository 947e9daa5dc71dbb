package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"runtime"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/say"
	"sagitta/internal/desk"
	"sagitta/internal/diag"
	"sagitta/internal/option"
)

type deskOptions struct {
	NoOpen bool    `opt:"no-open" is:"open no browser: say the address alone"`
	Port   float64 `opt:"port" in:"[0,65535]" wants:"a port from 1 to 65535, or 0 for any" is:"the <PORT> of this computer to be reached at (default: any that is free)"`
}

// deskOperand wants a folder at most.
func deskOperand(c *cobra.Command, args []string) error {
	if len(args) > 1 {
		return usagef(seeHelp(c), "one folder at a time, not also %s", args[1])
	}
	return nil
}

func (o *deskOptions) run(s *session, args []string) error {
	if o.Port != float64(int(o.Port)) {
		return usagef("", "--port %g: wants a whole number", o.Port)
	}
	if len(args) == 1 {
		// Names are to mean the same as where the commands are typed.
		if err := os.Chdir(args[0]); errors.Is(err, fs.ErrNotExist) {
			return usagef("make it first, or give another", "there is no folder %s", args[0])
		} else if err != nil {
			return diag.IOError(err)
		}
	}
	d, err := desk.New(DeskTool())
	if err != nil {
		return diag.IOError(err)
	}
	defer d.Close()
	at, address, err := d.Listen(int(o.Port))
	if err != nil {
		return diag.IOError(err)
	}
	s.serves.Store(true)
	if d.Note != "" {
		s.say.Line("%s", d.Note)
	}
	if _, err := fmt.Fprintln(s.stdout, address); err != nil {
		_ = at.Close()
		return diag.IOError(err)
	}
	if !o.NoOpen {
		if err := openBrowser(address); err != nil {
			s.say.Line("no browser opens by itself (%v): open the address above", err)
		}
	}
	s.say.Line("the desk is open at this address, on this computer alone; Ctrl-C closes it")
	return d.Serve(s.ctx, at)
}

// openBrowser has the system open an address.
func openBrowser(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	c := exec.Command(name, args...)
	if err := c.Start(); err != nil {
		return err
	}
	return c.Process.Release()
}

// DeskTool is the tool as the desk works with it.
func DeskTool() desk.Tool {
	return desk.Tool{Run: Run, Options: optionsOf, Quote: say.Quote}
}

// optionsOf gives the options of a command that the desk runs, fresh each time.
func optionsOf(command string) []option.Option { return described(fresh(command)) }
