package desk

import (
	"bytes"
	"errors"
	"net/http"
	"os"
	"path/filepath"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/folder"
)

// Answer is what a step gives.
type Answer struct {
	Step string `json:"step"`
	// Missing is what is missing before it can be run.
	Missing []choice.Lack `json:"missing"`
	// Commands are those that it runs, as they are typed, and Runs what came of them.
	Commands []string `json:"commands"`
	Runs     []Run    `json:"runs"`
	// Sheet is the bench sheet of what was tried, and Files are what was written.
	Sheet string    `json:"sheet,omitempty"`
	Files []Written `json:"files,omitempty"`
}

// Written is a file that was written.
type Written struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	Digest string `json:"digest"`
}

// Holds reports whether all commands ended well.
func (a *Answer) Holds() bool {
	for _, r := range a.Runs {
		if r.Status != 0 {
			return false
		}
	}
	return a.Missing == nil
}

// step makes the step of a request of what was chosen and typed.
func (d *Desk) step(r *http.Request) (choice.Step, *Answer, []byte, error) {
	name := r.URL.Query().Get("step")
	c, err := d.keep.shown(r)
	if err != nil {
		return choice.Step{}, nil, nil, err
	}
	s := c.Step(name, d.tool.Options, d.folder.Has)
	a := &Answer{Step: name, Missing: s.Missing, Commands: []string{}, Runs: []Run{}}
	for _, cmd := range s.Commands {
		a.Commands = append(a.Commands, typed(d.tool, cmd))
	}
	table, _ := c.Heights.Table.CSV()
	return s, a, table, nil
}

// try runs a step with its results in a folder that goes again.
func (d *Desk) try(r *http.Request) (any, error) {
	s, a, table, err := d.step(r)
	if err != nil || a.Missing != nil {
		return a, err
	}
	draw := a.Step == choice.StepSurface || r.URL.Query().Get("draw") == "true"
	if s.Tried > 0 {
		s.Commands = s.Commands[:s.Tried]
	}
	a.Runs, err = d.runs.try(r.Context(), a.Step, s, table, draw, func(dir string) {
		a.Sheet = sheetIn(dir, s.Commands[0])
	})
	if errors.Is(err, errOvertaken) {
		return nil, faultf(http.StatusConflict, "%v", err)
	}
	return a, err
}

// sheetIn reads the bench sheet of a command that was tried; "" where it makes none.
func sheetIn(dir string, c choice.Command) string {
	name := ""
	for k, w := range c {
		switch {
		case w.As == choice.Folder:
			name = filepath.Join(w.Text, "sheet.txt")
		case w.As == choice.Writes && c[k-1].Text == "--sheet":
			name = w.Text
		}
	}
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil || name == "" {
		return ""
	}
	return string(text)
}

// write runs a step in the folder.
func (d *Desk) write(r *http.Request) (any, error) {
	s, a, table, err := d.step(r)
	if err != nil || a.Missing != nil {
		return a, err
	}
	if err := d.settled(s, table); err != nil {
		return nil, err
	}
	there, err := d.inTheWay(s)
	if err != nil {
		return nil, err
	}
	if there != nil {
		if !replaces(r) {
			return nil, asks(there...)
		}
		letReplace(&s, a, d.tool)
	}
	// What is written is finished even if the page is closed meanwhile.
	if a.Runs, err = d.runs.write(s); err != nil {
		return nil, err
	}
	if a.Runs[0].Status == 0 {
		a.Files = d.written(s)
	}
	return a, nil
}

// settled wants the heights that were typed to lie in their file as they are.
func (d *Desk) settled(s choice.Step, table []byte) error {
	for _, c := range s.Commands {
		for _, name := range c.Files(choice.Typed) {
			if was, err := d.folder.Read(name, mostShown); err != nil || !bytes.Equal(was, table) {
				return &fault{status: http.StatusUnprocessableEntity, Field: "result-table",
					Text: "the heights that are typed are not kept yet: write them as " + name + " first"}
			}
		}
	}
	return nil
}

// inTheWay gives the results that are there already.
func (d *Desk) inTheWay(s choice.Step) (there []string, err error) {
	for _, c := range s.Commands {
		for _, w := range c {
			var err error
			switch w.As {
			case choice.Writes:
				if err = checkDropped(w.Text); err == nil {
					err = d.folder.Free(w.Text)
				}
			case choice.Folder:
				err = d.folder.FreeFolder(w.Text)
			}
			if errors.Is(err, folder.ErrThere) {
				there = append(there, w.Text)
			} else if err != nil {
				return nil, err
			}
		}
	}
	return there, nil
}

// letReplace has a folder of results replaced, which a command has to be told.
func letReplace(s *choice.Step, a *Answer, tool Tool) {
	for k, c := range s.Commands {
		if len(c.Files(choice.Folder)) > 0 {
			s.Commands[k] = append(append(choice.Command{}, c...), choice.Word{Text: "--replace"})
			a.Commands[k] = typed(tool, s.Commands[k])
		}
	}
}

// written lists the results that are there.
func (d *Desk) written(s choice.Step) (list []Written) {
	var names []string
	for _, c := range s.Commands {
		names = append(names, c.Files(choice.Writes)...)
		for _, dir := range c.Files(choice.Folder) {
			in, err := d.folder.In(dir)
			if err != nil {
				continue // it was not made
			}
			for _, n := range in {
				names = append(names, dir+"/"+n)
			}
		}
	}
	for _, n := range names {
		if digest, size, err := d.folder.Digest(n); err == nil {
			list = append(list, Written{n, size, digest})
		}
	}
	return list
}
