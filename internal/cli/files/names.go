package files

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// named reports whether name is that of a file or a folder: "" is none, and
// "-" stands for a stream.
func named(name string) bool { return name != "" && name != "-" }

// OneStream refuses inputs of which more than one is standard input.
func OneStream(inputs ...string) error {
	streams := 0
	for _, name := range inputs {
		if name == "-" {
			streams++
		}
	}
	if streams > 1 {
		return diag.Errorf(diag.Setting, "", "standard input (-) can stand for one file only")
	}
	return nil
}

// CheckOutputs refuses outputs that are an input opened so far, and two of
// them under one name.
func (f *Files) CheckOutputs(outputs ...string) error {
	used := map[string]bool{}
	for _, out := range outputs {
		if !named(out) {
			continue
		}
		clean := filepath.Clean(out)
		if used[clean] {
			return diag.Errorf(diag.Setting, "", "two results cannot both go to %s", out)
		}
		used[clean] = true
		info, err := os.Stat(out)
		if err != nil {
			continue // not there yet
		}
		for _, in := range f.inputs {
			if in.info != nil && os.SameFile(in.info, info) {
				return diag.Errorf(diag.Setting, "give another name with -o", "the output %s is the input %s", out, in.name)
			}
		}
	}
	return nil
}

// IsFolder reports whether name is that of a folder.
func IsFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// IsStream reports whether what is written to name goes out at once, into
// standard output, a device or a pipe: nothing stands beside it.
func IsStream(name string) bool {
	place, err := placeOf(name)
	return err == nil && place == ""
}

// placeOf is where a file called name belongs, "" where it goes out as a stream.
// A link is followed, so that it stays one.
func placeOf(name string) (string, error) {
	if !named(name) {
		return "", nil
	}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return "", diag.IOError(err)
	case info.IsDir():
		return "", diag.Errorf(diag.Setting, "", "%s is a folder", name)
	case !info.Mode().IsRegular():
		return "", nil
	}
	if real, err := filepath.EvalSymlinks(name); err == nil {
		return real, nil
	}
	return name, nil
}
