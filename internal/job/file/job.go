package file

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// Job is what a job file says. Names that are not given are "".
type Job struct {
	Program  string   `toml:"program" as:"\"plate.gcode\"" is:"the program; its results are called as it is"`
	Surface  string   `toml:"surface" as:"\"sheet.csv\"" is:"measured heights, a CSV file"`
	Measured []string `toml:"measured" as:"[\"touches.log\"]" is:"in place of surface: touches as they were written down, of which a surface is made first"`
	Lenses   []string `toml:"lenses" as:"[\"short.toml\"]" is:"lens records"`
	Depth    Sides    `toml:"depth" as:"\"1.5\"" is:"in place of lenses: how many mm nearer and further the lens is sharp, or both sides as \"-1.2,1.8\""`
	Machine  string   `toml:"machine" as:"\"bench.toml\"" is:"machine profile"`
	Do       string   `toml:"do" in:"auto|flat|follow|split" is:"\"auto\" (what advise recommends), \"flat\", \"follow\" or \"split\""`
	Out      string   `toml:"out" is:"folder of the results"`
	Sheet    bool     `toml:"sheet" is:"whether a bench sheet goes with a program (a set of zones always has one)"`
	Report   bool     `toml:"report" is:"whether a page with pictures goes with the results"`

	// Places are where the part lies of which the program is, nil for one that is made where
	// it is.
	Places []record.Place

	// Burns are the rules about burns that stand in the file itself, nil where there are none.
	Burns record.Burns

	// Said are the options that the file gives, in the order in which they are known.
	Said []Said
	// fields tells where each field stands.
	fields places
}

// The ways in which a job is done.
const (
	Auto, Flat, Follow, Split = "auto", "flat", "follow", "split"
)

// Defaults are what a job file leaves open.
func Defaults() *Job { return &Job{Do: Auto, Out: "made", Sheet: true} }

// Option is an option of a command that a job file may give.
type Option struct {
	option.Option
	// For are the ways in which a job is done that know it; nil for all.
	For []string
	// Measured tells that it says how touches are read.
	Measured bool
}

// Said is an option that a job file gives.
type Said struct {
	*Option
	// Texts are its value as it is typed, once for each time that it is given.
	Texts []string
}

// Sides is a depth: one number or two, as text or as they are.
type Sides string

// UnmarshalTOML reads it.
func (s *Sides) UnmarshalTOML(v any) error {
	switch v := v.(type) {
	case string:
		*s = Sides(v)
		return nil
	case []any:
		var both []string
		for _, side := range v {
			n, ok := number(side)
			if !ok {
				break
			}
			both = append(both, n)
		}
		if len(both) == 2 && len(v) == 2 {
			*s = Sides(strings.Join(both, ","))
			return nil
		}
	default:
		if n, ok := number(v); ok {
			*s = Sides(n)
			return nil
		}
	}
	return fmt.Errorf(`wants how many mm, as in "1.5" or "-1.2,1.8"`)
}

func number(v any) (string, bool) {
	switch v := v.(type) {
	case int64:
		return fmt.Sprint(v), true
	case float64:
		return fmt.Sprint(v), true
	}
	return "", false
}

// Base is what the results are called, without their folder.
func (j *Job) Base() string { return filepath.Base(j.Program) }

// Inputs are the files that the job reads, by the fields that name them.
func (j *Job) Inputs() []Named {
	list := []Named{{"program", j.Program}, {"surface", j.Surface}, {"machine", j.Machine}}
	for _, name := range j.Measured {
		list = append(list, Named{"measured", name})
	}
	for _, name := range j.Lenses {
		list = append(list, Named{"lenses", name})
	}
	for _, s := range j.Said {
		if s.names() && !j.itself(&s) {
			list = append(list, Named{s.Name, s.Texts[0]})
		}
	}
	for k := range j.Places {
		if p := &j.Places[k]; !p.Skip {
			list = append(list, Named{"readings", p.Readings})
		}
	}
	given := list[:0]
	for _, n := range list {
		if n.Name != "" {
			given = append(given, n)
		}
	}
	return given
}

// itself reports whether an option names the job file itself, for the rules that stand in it.
func (j *Job) itself(s *Said) bool { return s.Name == burnsField && j.Burns != nil }

// Named is a file that a field names.
type Named struct{ Field, Name string }

// Text is what an option is given, "" where it is not.
func (j *Job) Text(option string) string {
	for _, s := range j.Said {
		if s.Name == option && len(s.Texts) == 1 {
			return s.Texts[0]
		}
	}
	return ""
}

// names reports whether an option names a file.
func (o *Option) names() bool { return strings.Contains(o.Meaning, "<FILE>") }

// Gives reports whether the file gives an option, and does not say no to it.
func (j *Job) Gives(option string) bool {
	return slices.ContainsFunc(j.Said, func(s Said) bool { return s.Name == option && !slices.Equal(s.Texts, []string{"false"}) })
}

// Digest is that of all that the job says, but for what its files hold.
func (j *Job) Digest() string {
	h := sha256.New()
	fmt.Fprintf(h, "%q %q %q %q %q %q %q %q %t %t", j.Program, j.Surface, j.Measured, j.Lenses, string(j.Depth), j.Machine, j.Do, j.Out, j.Sheet, j.Report)
	for _, s := range j.Said {
		if !j.itself(&s) {
			fmt.Fprintf(h, " %s=%q", s.Name, s.Texts)
		}
	}
	if j.Burns != nil {
		fmt.Fprint(h, " burns=", j.Burns.Digest())
	}
	for k := range j.Places {
		said, _ := json.Marshal(&j.Places[k])
		h.Write(said)
	}
	return fmt.Sprintf("sha256:%x", h.Sum(nil))
}

// Wrong is an error of a field, with its place.
func (j *Job) Wrong(field, hint, format string, args ...any) error {
	return &diag.Error{Kind: diag.Setting, Place: j.fields.value(field), Field: field, Hint: hint, What: fmt.Sprintf(format, args...)}
}
