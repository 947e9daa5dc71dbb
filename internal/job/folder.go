package job

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/option"
	"sagitta/internal/record"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone/sheet"
)

// What a folder of zones holds beside its programs to be judged by: ListFile is the list of
// them, by which it is known as such a folder.
const (
	ListFile    = "set.json"
	surfaceFile = "surface.csv"
	keepOutFile = "keep-out.csv"
)

// beside is what else it holds.
var beside = []string{ListFile, surfaceFile, keepOutFile, set.PiecesFile, "sheet.txt", "zones.geojson"}

// ofFiles are the options that name files, of which the folder holds what they say, and
// those by which such a file is judged.
var ofFiles = []string{"surface", "lens", "machine", "keep-out", "output", "replace", "summary", "plot", "burns", "fixture", "readings", "loaded", "at", "places", "from"}

// Folder is a folder of zones, and what it holds to be judged by.
type Folder struct {
	Dir string
	// At is where it is, where that is not Dir, which it is called.
	At string
	*set.Set
	made sheet.Made
	// records are files that the list stands for, by the names that they have in
	// messages.
	records map[string][]byte
}

// ReadFolder reads the list of the zones in a folder.
func ReadFolder(open Source, dir string) (*Folder, error) {
	f := &Folder{Dir: dir, records: map[string][]byte{}}
	_, err := Read(open, f.file(ListFile), func(r io.Reader, name string) (_ *set.Set, err error) {
		var text bytes.Buffer
		if f.Set, err = set.Read(io.TeeReader(r, &text), name); err != nil {
			return nil, err
		}
		if err := json.Unmarshal(text.Bytes(), &f.made); err != nil {
			return nil, wrong("", "%s: is no list of zones: %v", name, err)
		}
		return f.Set, nil
	})
	return f, err
}

func (f *Folder) file(name string) string { return filepath.Join(f.Dir, name) }

// Recall fills in the options that the set was made with, but for those that are
// given, which it names where the folder has another. Open is then to open what the
// options name.
func (f *Folder) Recall(open Source, o *Options, given func(name string) bool) (instead []string, err error) {
	lens := given("lens") || given("depth")
	recalled := map[string]bool{}
	for _, x := range option.Of(o) {
		said, ok := f.made.Options[x.Name]
		switch {
		case given(x.Name) && (slices.Contains(ofFiles, x.Name) || x.Name == "depth"):
			instead = append(instead, fmt.Sprintf("--%s %s", x.Name, strings.Trim(fmt.Sprint(x.Value.Interface()), "[]")))
		case given(x.Name):
			var was bytes.Buffer
			if now, err := json.Marshal(x.Value.Interface()); err == nil && json.Compact(&was, said) == nil && !bytes.Equal(now, was.Bytes()) {
				instead = append(instead, fmt.Sprintf("--%s %s (not %s)", x.Name, bytes.Trim(now, `[]"`), bytes.Trim(was.Bytes(), `[]"`)))
			}
		case ok && !(x.Name == "depth" && lens):
			if err := json.Unmarshal(said, x.Value.Addr().Interface()); err != nil {
				return nil, wrong("", "%s: option %s is %s, and wants %s", f.file(ListFile), x.Name, said, wanted(x))
			}
			recalled[x.Name] = true
		}
	}
	o.Given = func(name string) bool { return given(name) || recalled[name] }
	for _, x := range []struct {
		option, name string
		file         *string
	}{{"surface", surfaceFile, &o.Surface}, {"keep-out", keepOutFile, &o.KeepOut}} {
		if digest := f.made.Files[x.name]; digest != "" && !given(x.option) {
			*x.file = f.file(x.name)
			if err := f.unchanged(open, x.name, digest); err != nil {
				return nil, err
			}
		}
	}
	if len(f.made.Lenses) > mostLenses {
		return nil, wrong("", "%s: lists %d lenses; more than %d are refused", f.file(ListFile), len(f.made.Lenses), mostLenses)
	}
	if !lens {
		for i, said := range f.made.Lenses {
			if err := f.record(&o.Lenses, fmt.Sprintf("lens %d", i+1), said); err != nil {
				return nil, err
			}
		}
	}
	if f.made.Machine != nil && !given("machine") {
		var names []string
		err = f.record(&names, "machine", f.made.Machine)
		o.Machine = strings.Join(names, "")
	}
	return instead, err
}

// Rules has a job of the folder do burns by the rules that the set was made by.
func (f *Folder) Rules(j *Job) error {
	said, ok := f.made.Options["burns"]
	if !ok {
		return nil
	}
	rules, err := record.BurnsFrom(said)
	if err != nil {
		return wrong("", "%s: option burns: %v", f.file(ListFile), err)
	}
	return j.TakeRules(f.file(ListFile), rules)
}

// wanted says what the list is to have for an option.
func wanted(o option.Option) string {
	if wants := o.Tag.Get("wants"); wants != "" {
		return wants
	}
	switch t := o.Value.Type(); t.Kind() {
	case reflect.Pointer:
		return "two numbers, as in [10, 20]"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a text"
	case reflect.Slice:
		return "a list of texts"
	}
	return "a number"
}

// unchanged refuses a file of the folder that is not the one that the set was made
// with.
func (f *Folder) unchanged(open Source, name, digest string) error {
	const hint = "split again, or give what it is to be judged by with --"
	option := strings.TrimSuffix(name, filepath.Ext(name))
	switch now, err := digestOf(open, f.file(name)); {
	case errors.Is(err, fs.ErrNotExist):
		return wrong(hint+option, "%s, which the set was made with, is missing", f.file(name))
	case err != nil:
		return err
	case now != digest:
		return wrong(hint+option, "%s was changed since the set was made", f.file(name))
	}
	return nil
}

func digestOf(open Source, name string) (string, error) {
	return Read(open, name, func(r io.Reader, _ string) (string, error) { return sheet.DigestOf(r) })
}

// record has a name stand for a record that the list holds, and adds it to names.
func (f *Folder) record(names *[]string, what string, said json.RawMessage) error {
	text, err := record.FileOf(said)
	if err != nil {
		return wrong("", "%s: %s: %v", f.file(ListFile), what, err)
	}
	name := f.file(ListFile) + ", " + what
	f.records[name] = text
	*names = append(*names, name)
	return nil
}

// Open opens what the recalled options name.
func (f *Folder) Open(open Source) Source {
	return func(name string) (io.ReadCloser, error) {
		if text, ok := f.records[name]; ok {
			return io.NopCloser(bytes.NewReader(text)), nil
		}
		return open(name)
	}
}

// Placed is an error of what Open opened without the line of a file that is none.
func (f *Folder) Placed(err error) error {
	if e := diag.As(err); e != nil && f.records[e.Place.File] != nil {
		e.Place.Line = 0
	}
	return err
}

// FindOriginal looks beside the folder for the program that the set was made from.
func (f *Folder) FindOriginal(open Source) (string, error) {
	const hint = "give it with --against"
	name := f.Original
	if f.made.Digest == "" || name == "-" || name == "." || name == ".." || filepath.Base(name) != name {
		return "", wrong(hint, "%s does not say which file the set was made from", f.file(ListFile))
	}
	at := filepath.Join(f.Dir, "..", name)
	switch digest, err := digestOf(open, at); {
	case errors.Is(err, fs.ErrNotExist):
		return "", wrong(hint, "%s, from which %s was made, is not there", at, f.Dir)
	case err != nil:
		return "", err
	case digest != f.made.Digest:
		return "", wrong(hint, "%s is not the program from which %s was made: it is another, or was changed since", at, f.Dir)
	}
	return at, nil
}

// MadeFrom reports whether a file with this digest is the one that the set was made
// from, as far as the list says.
func (f *Folder) MadeFrom(digest string) bool { return f.made.Digest == "" || digest == f.made.Digest }
