package files

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

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
// them that are one file, whatever its names, or one stream ("-" is standard output,
// "" none).
func (f *Files) CheckOutputs(outputs ...string) error {
	used := map[string]bool{}
	for _, out := range outputs {
		if out == "" {
			continue
		}
		info, err := os.Stat(f.path(out))
		if at := realName(f.path(out)); out == "-" || err != nil || info.Mode().IsRegular() {
			if used[at] {
				return diag.Errorf(diag.Setting, "give each a name of its own", "two results cannot both go to %s", streamOr(out))
			}
			used[at] = true
		}
		if err != nil || out == "-" {
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

// KeepFilled refuses a result, which an option names, where a file stands that is filled in
// by hand, as filled tells of what is in it.
func KeepFilled(out, option string, filled func([]byte) bool) error {
	if IsStream(out) {
		return nil // there is nothing to be lost
	}
	if old, err := os.ReadFile(out); err == nil && filled(old) {
		return diag.Errorf(diag.Setting, "move it away, or give another name with "+option, "%s has been filled in, and is not to be lost", out)
	}
	return nil
}

func streamOr(name string) string {
	if !named(name) {
		return "standard output"
	}
	return name
}

// realName is one name for a file, there or not, whatever links lead to it.
func realName(name string) string {
	if !named(name) {
		return name
	}
	at, err := filepath.Abs(name)
	if err != nil {
		at = filepath.Clean(name)
	}
	if real, err := filepath.EvalSymlinks(at); err == nil {
		at = real
	} else if dir, err := filepath.EvalSymlinks(filepath.Dir(at)); err == nil {
		at = filepath.Join(dir, filepath.Base(at))
	}
	if runtime.GOOS == "windows" {
		at = strings.ToLower(at) // names there do not differ by case
	}
	return at
}

// CheckBeside refuses an output that would go into an output folder, which takes its
// place as a whole.
func CheckBeside(folder, out string) error {
	if !named(out) {
		return nil
	}
	in, err := filepath.Rel(realName(folder), realName(out))
	if err == nil && in != ".." && !strings.HasPrefix(in, ".."+string(os.PathSeparator)) {
		return diag.Errorf(diag.Setting, "give it a place beside the folder", "%s cannot go into the output folder %s", out, folder)
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
	for range mostLinks { // to what is yet to come
		to, err := os.Readlink(name)
		if err != nil {
			break
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(name), to)
		}
		name = to
	}
	return name, nil
}

// mostLinks is how many links are followed one after another.
const mostLinks = 40
