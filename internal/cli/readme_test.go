package cli

import (
	"bufio"
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// readme is where the texts for users lie.
const readme = "../../README.md"

// fence is a block of code of a text, with what stands behind its first fence.
type fence struct{ info, text string }

func fences(t *testing.T, name string) (list []fence) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile("(?ms)^```([^\n]*)\n(.*?)^```$").FindAllSubmatch(text, -1) {
		list = append(list, fence{string(m[1]), string(m[2])})
	}
	return list
}

// Every command of the README does its work, in the order in which they stand there, on
// files that it says how to make; and its pictures are those that they draw. With
// SAGITTA_PICTURES=1 these are made anew.
func TestReadmeCommands(t *testing.T) {
	var script strings.Builder
	var files strings.Builder
	commands := 0
	for _, f := range fences(t, readme) {
		kind, name, _ := strings.Cut(f.info, " ")
		switch {
		case name != "":
			script.WriteString("cp $WORK/" + name + " " + name + "\n")
			files.WriteString("-- " + name + " --\n" + f.text)
		case kind == "sh":
			for line := range strings.Lines(f.text) {
				line = strings.TrimSuffix(line, "\n")
				if strings.HasPrefix(line, "sagitta desk") {
					line = "interrupted " + line
				}
				script.WriteString(line + "\n")
				commands++
			}
		}
	}
	const least = 20 // about as many as there are: they are found
	if commands < least {
		t.Fatalf("%d commands, at least %d wanted", commands, least)
	}
	drawn := regexp.MustCompile(`!\[[^\]]+\]\(docs/([^)]+)\)`)
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	pictures := drawn.FindAllSubmatch(text, -1)
	if len(pictures) < 2 {
		t.Fatalf("%d pictures", len(pictures))
	}
	docs, err := filepath.Abs("../../docs")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pictures {
		name := string(p[1])
		if os.Getenv("SAGITTA_PICTURES") != "" {
			script.WriteString("cp " + name + " " + filepath.Join(docs, name) + "\n")
			continue
		}
		script.WriteString("cmp " + name + " " + filepath.Join(docs, name) + "\n")
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "readme.txtar"), []byte(script.String()+files.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{Dir: dir, Cmds: map[string]func(*testscript.TestScript, bool, []string){"interrupted": interrupted}})
}

// interrupted runs a command that goes on until it is asked to end, and asks it as soon
// as it has said something.
func interrupted(ts *testscript.TestScript, _ bool, args []string) {
	c := tool(args[1:]...)
	c.Dir = ts.MkAbs(".")
	said, err := c.StderrPipe()
	ts.Check(err)
	ts.Check(c.Start())
	lines := bufio.NewScanner(said)
	if !lines.Scan() {
		ts.Fatalf("%v says nothing", args)
	}
	first := lines.Text()
	ts.Check(c.Process.Signal(syscall.SIGINT))
	for lines.Scan() {
	}
	if err := c.Wait(); err != nil && c.ProcessState.ExitCode() != statusInterrupted {
		ts.Fatalf("%v: %s: %v", args, first, err)
	}
}

// The README stays one that is read.
func TestReadmeIsShort(t *testing.T) {
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(text, []byte("\n")); n >= 250 {
		t.Errorf("it has %d lines", n)
	}
}

// Texts lead only to files and headings that there are.
func TestTextsLeadSomewhere(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)]+)\)`)
	heading := regexp.MustCompile(`(?m)^#+ (.*)$`)
	names, err := filepath.Glob("../../docs/*.md")
	if err != nil || len(names) < 3 {
		t.Fatalf("%v, %v", names, err)
	}
	for _, name := range append(names, readme) {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		anchors := map[string]bool{}
		for _, m := range heading.FindAllSubmatch(text, -1) {
			anchors["#"+strings.ReplaceAll(strings.ToLower(string(m[1])), " ", "-")] = true
		}
		for _, m := range link.FindAllSubmatch(text, -1) {
			to := string(m[1])
			if file, _, _ := strings.Cut(to, "#"); file != "" { // headings of others are looked at there
				to = file
			}
			if strings.HasPrefix(to, "#") {
				if !anchors[to] {
					t.Errorf("%s leads to %s, which is no heading", name, to)
				}
				continue
			}
			at, _, _ := strings.Cut(to, "#")
			if _, err := os.Stat(filepath.Join(filepath.Dir(name), at)); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}
