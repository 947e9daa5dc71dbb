package cli

import (
	"errors"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// status runs a command and wants this exit status: "status 3 sagitta …".
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// writeBytes writes a file from a quoted Go string, repeated N times:
// "bytes FILE N TEXT".
func writeBytes(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: bytes FILE N TEXT")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	text, err := strconv.Unquote(`"` + args[2] + `"`)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Repeat(text, n)), 0o666))
}

// edit puts a text, quoted as in Go, in the place of all that a regular expression
// matches in a file, which must be something: "edit FILE REGEXP TEXT".
func edit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE REGEXP TEXT")
	}
	text, err := strconv.Unquote(`"` + strings.ReplaceAll(args[2], `"`, `\"`) + `"`)
	ts.Check(err)
	is, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	old := regexp.MustCompile(args[1])
	if !old.Match(is) {
		ts.Fatalf("%s has nothing like %s", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), old.ReplaceAllLiteral(is, []byte(text)), 0o666))
}
