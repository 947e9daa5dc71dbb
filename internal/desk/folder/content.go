package folder

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"

	"sagitta/internal/phrase"
	"sagitta/internal/record"
	"sagitta/internal/surface/file"
	"sagitta/internal/touch"
)

// Kind is what a file is, by what it holds.
type Kind string

// The kinds of files.
const (
	Program Kind = "program"
	Heights Kind = "heights" // a surface as commands take it
	Touches Kind = "touches" // measured heights of which a surface is to be made
	Lens    Kind = "lens"
	Machine Kind = "machine"
	Boxes   Kind = "boxes" // what stands on the bench, to be kept clear of
	Zones   Kind = "zones" // a folder of a divided job
	Other   Kind = "other"
)

// File is a file of the folder.
type File struct {
	Name string `json:"name"`
	Kind Kind   `json:"kind"`
	Size int64  `json:"size"`
	// Why says of a file that nothing can be made of what seems to be wrong.
	Why string `json:"why,omitempty"`
}

// known is what was found out about a file of this size and age.
type known struct {
	File
	at time.Time
}

const (
	// mostListed bounds how many files are looked at: a folder of a job has some dozens.
	mostListed = 500
	// mostLooked is how many bytes of a file are looked at to see what it is; tables of
	// heights are read whole.
	mostLooked = 4 << 20
	// headLooked is how much of a program tells that it is one.
	headLooked = 32 << 10
)

// List gives the files, in the order of their names, and reports whether there are more
// than are looked at.
func (f *Folder) List() (list []File, more bool, err error) {
	dir, err := f.root.Open(".")
	if err != nil {
		return nil, false, err
	}
	defer dir.Close()
	entries, err := dir.ReadDir(-1)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, false, err
	}
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	list = []File{}
	for _, e := range entries {
		if CheckName(e.Name()) != nil {
			continue
		}
		if len(list) == mostListed {
			return list, true, nil
		}
		switch x := (File{Name: e.Name(), Kind: Zones}); {
		case e.IsDir():
			if f.Has(e.Name()+"/set.json") == nil {
				list = append(list, x)
			}
		default:
			if x, err := f.look(e.Name()); err == nil {
				list = append(list, x)
			}
		}
	}
	return list, false, nil
}

// Kind is what a file is.
func (f *Folder) Kind(name string) Kind {
	x, err := f.look(name)
	if err != nil {
		return Other
	}
	return x.Kind
}

// look finds out what a file is, unless that is known.
func (f *Folder) look(name string) (File, error) {
	in, info, err := f.open(name)
	if err != nil {
		return File{}, err
	}
	defer in.Close()
	f.mu.Lock()
	was, ok := f.known[name]
	f.mu.Unlock()
	if ok && was.Size == info.Size() && was.at.Equal(info.ModTime()) {
		return was.File, nil
	}
	text, err := io.ReadAll(io.LimitReader(in, mostLooked))
	if err != nil {
		return File{}, err
	}
	x := File{Name: name, Size: info.Size()}
	x.Kind, x.Why = kindOf(name, text)
	f.mu.Lock()
	f.known[name] = known{x, info.ModTime()}
	f.mu.Unlock()
	return x, nil
}

// kindOf says what a text is, and where it is nothing why not.
func kindOf(name string, text []byte) (Kind, string) {
	switch strings.ToLower(path.Ext(name)) {
	case ".toml":
		return recordOf(name, text)
	case ".json", ".svg", ".html", ".png", ".md":
		return Other, ""
	case ".csv", ".tsv", ".log", ".dat":
		if k, why := heightsOf(name, text); k != Other || !looksProgram(text) {
			return k, why
		}
		return Program, ""
	}
	if looksProgram(text) {
		return Program, ""
	}
	k, _ := heightsOf(name, text)
	return k, ""
}

func recordOf(name string, text []byte) (Kind, string) {
	_, lens := record.ReadLens(bytes.NewReader(text), name)
	if lens == nil {
		return Lens, ""
	}
	_, machine := record.ReadMachine(bytes.NewReader(text), name)
	if machine == nil {
		return Machine, ""
	}
	if _, err := record.ReadBurns(bytes.NewReader(text), name); err == nil {
		return Other, ""
	}
	return Other, phrase.Printable("no lens record (" + lens.Error() + ") and no machine profile (" + machine.Error() + ")")
}

func heightsOf(name string, text []byte) (Kind, string) {
	if len(bytes.TrimSpace(text)) == 0 {
		return Other, "it is empty"
	}
	if _, err := file.ReadKeepOut(bytes.NewReader(text), name); err == nil {
		return Boxes, ""
	}
	_, strict := file.Read(bytes.NewReader(text), name)
	if strict == nil {
		return Heights, ""
	}
	_, loose := touch.Read(bytes.NewReader(text), name, touch.Options{})
	if loose == nil {
		return Touches, ""
	}
	return Other, phrase.Printable(loose.Error())
}

var (
	wordsLine   = regexp.MustCompile(`^[/\s]*([A-Za-z]\s*[-+]?\.?[0-9][0-9.]*\s*)+([;(*].*)?$`)
	motionWord  = regexp.MustCompile(`(?i)(^|[^A-Za-z])[GM]\s?[0-9]`)
	remarkLines = regexp.MustCompile(`^\s*([;(%].*)?$`)
)

// IsProgram reports whether a file of this name that begins so is a program.
func IsProgram(name string, head []byte) bool {
	kind, _ := kindOf(name, head)
	return kind == Program
}

// looksProgram reports whether nearly all lines at the head of a text are blocks of words,
// and some have a word of motion or of the machine.
func looksProgram(text []byte) bool {
	text = text[:min(len(text), headLooked)]
	if bytes.IndexByte(text, 0) >= 0 {
		return false
	}
	good, bad := 0, 0
	for line := range bytes.Lines(text) {
		line = bytes.TrimRight(line, "\r\n")
		switch {
		case remarkLines.Match(line):
		case wordsLine.Match(line) || motionWord.Match(line):
			good++
		default:
			bad++
		}
	}
	return good > 0 && good > 4*bad && motionWord.Match(text)
}
