package batch

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/diag"
)

// Find gives the job files that operands stand for, each once: files by their names,
// folders for the job files in them, and patterns as in "jobs/*.toml", where the shell
// has left them. Of what folders and patterns lead to, is tells which are job files:
// lens records and machine profiles end in .toml too.
func Find(operands []string, is func(io.Reader) bool) (jobs []string, err error) {
	seen := map[string]bool{}
	add := func(name string) {
		at, err := filepath.Abs(name)
		if err != nil {
			at = filepath.Clean(name)
		}
		if !seen[at] {
			seen[at] = true
			jobs = append(jobs, name)
		}
	}
	for _, name := range operands {
		info, err := os.Stat(name)
		switch {
		case err == nil && !info.IsDir():
			add(name)
			continue
		case err != nil && !(errors.Is(err, fs.ErrNotExist) && strings.ContainsAny(name, "*?[")):
			return nil, diag.IOError(err)
		}
		found, err := among(name, err == nil)
		if err != nil {
			return nil, err
		}
		none := true
		for _, f := range found {
			job, err := isJob(f, is)
			if err != nil {
				return nil, err
			}
			if job {
				none = false
				add(f)
			}
		}
		if none {
			return nil, diag.Errorf(diag.Setting, "job files end in .toml, and have a line such as program = \"plate.gcode\"", "no job file in %s", name)
		}
	}
	return jobs, nil
}

// among lists the files that may be jobs: those in a folder, or those that a pattern
// leads to.
func among(name string, folder bool) (list []string, err error) {
	if !folder {
		list, err = filepath.Glob(name)
		if err != nil {
			return nil, diag.Errorf(diag.Setting, "", "%s: the pattern is not right: %v", name, err)
		}
		return slices.DeleteFunc(list, func(f string) bool { return strings.HasPrefix(filepath.Base(f), ".") }), nil
	}
	entries, err := os.ReadDir(name)
	if err != nil {
		return nil, diag.IOError(err)
	}
	for _, e := range entries {
		if strings.EqualFold(filepath.Ext(e.Name()), ".toml") && !strings.HasPrefix(e.Name(), ".") {
			list = append(list, filepath.Join(name, e.Name()))
		}
	}
	slices.Sort(list)
	return list, nil
}

func isJob(name string, is func(io.Reader) bool) (bool, error) {
	info, err := os.Stat(name)
	if err != nil {
		return false, diag.IOError(err)
	}
	if !info.Mode().IsRegular() {
		return false, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return false, diag.IOError(err)
	}
	defer f.Close()
	return is(f), nil
}
