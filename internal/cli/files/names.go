package files

import (
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// identity tells one file from another whatever their names.
type identity struct {
	name string
	info os.FileInfo
}

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
			if os.SameFile(in.info, info) {
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
	if !named(name) {
		return true
	}
	info, err := os.Stat(name)
	return err == nil && !info.Mode().IsRegular()
}
