//go:build unix

package cli

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"

	"sagitta/internal/phrase"
)

// onTerminal runs the tool on a terminal so many columns wide, and gives what it shows.
func onTerminal(t *testing.T, columns uint16, env []string, args ...string) string {
	t.Helper()
	c := exec.Command(os.Args[0], args...)
	c.Env = append(append(os.Environ(), asCommand+"=1", "NO_COLOR=", "TERM=xterm"), env...)
	screen, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: columns})
	if err != nil {
		t.Fatal(err)
	}
	defer screen.Close()
	shown, _ := io.ReadAll(screen) // it ends with an error where the other side is closed
	if err := c.Wait(); err != nil && c.ProcessState.ExitCode() != statusDoesNotHold {
		t.Fatalf("%v: %s", err, shown)
	}
	return strings.ReplaceAll(string(shown), "\r\n", "\n")
}

// TestTerminal has a terminal get lines that fit it, and colours but where they are not
// wanted; and a pipe neither.
func TestTerminal(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		name = filepath.Join(dir, name)
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	program := write("a.gcode", "G21 G90\nM4 S500\nG0 X0 Y0\nG1 X10 F1000\nM5\n")
	sheet := write("s.csv", "# error_mm: 0\ny\\x,0,20\n0,0.2,0.2\n20,0.2,0.2\n")
	args := func(depth string) []string { return []string{"verify", program, "-s", sheet, "--depth", depth} }
	const columns = 44
	for _, c := range []struct {
		name, depth string
		env         []string
		want        string // what the verdict is in
	}{
		{"holds but for what was not checked", "1", nil, "\x1b[1m"},
		{"fails", "0.1", nil, "\x1b[1;31m"},
		{"NO_COLOR", "1", []string{"NO_COLOR=1"}, ""},
		{"a dumb terminal", "1", []string{"TERM=dumb"}, ""},
	} {
		shown := onTerminal(t, columns, c.env, args(c.depth)...)
		at := strings.LastIndex(shown, c.want+"sagitta: ")
		if at < 0 || !strings.Contains(strings.Join(strings.Fields(shown[at:]), " "), "hold") {
			t.Errorf("%s: the verdict is not in %q:\n%s", c.name, c.want, shown)
		}
		if c.want == "" && strings.Contains(shown, "\x1b") {
			t.Errorf("%s: colours:\n%q", c.name, shown)
		}
		for line := range strings.Lines(shown) {
			for _, code := range []string{"\x1b[1;31m", "\x1b[1m", "\x1b[0m", "\n"} {
				line = strings.ReplaceAll(line, code, "")
			}
			if phrase.Columns(line) > columns && !strings.Contains(line, dir) {
				t.Errorf("%s: %q is wider than %d", c.name, line, columns)
			}
		}
	}
	c := exec.Command(os.Args[0], args("1")...)
	c.Env = append(os.Environ(), asCommand+"=1", "NO_COLOR=", "TERM=xterm", "COLUMNS=44")
	piped, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, piped)
	}
	if strings.Contains(string(piped), "\x1b") {
		t.Errorf("colours in a pipe: %q", piped)
	}
	for line := range strings.Lines(string(piped)) {
		if !strings.HasPrefix(line, "sagitta: ") {
			t.Errorf("%q was folded in a pipe", line)
		}
	}
}
