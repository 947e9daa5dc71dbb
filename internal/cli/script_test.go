package cli

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	testscript.Main(m, map[string]func(){
		"sagitta": func() { os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the command line as a user types it.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "../../testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"status": status, "bytes": writeBytes, "edit": edit},
	})
}
