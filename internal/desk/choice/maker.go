package choice

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"sagitta/internal/desk/folder"
	"sagitta/internal/option"
)

// maker makes a step of choices.
type maker struct {
	c     *Choices
	known Known
	has   Has
	names map[string]string
	step  Step
}

// Step makes a step.
func (c *Choices) Step(name string, known Known, has Has) Step {
	m := &maker{c: c, known: known, has: has, names: c.Names()}
	switch name {
	case StepSurface:
		m.surface()
	case StepRungs:
		m.rungs()
	case StepAdvise:
		m.placed("advise", c.Lenses, nil)
	case StepBefore:
		m.placed("verify", m.one(), nil)
	case StepFlat:
		m.flat()
	case StepFollow:
		m.follow()
	case StepSplit, SplitFollows:
		m.split(name == SplitFollows)
	case StepReport:
		m.report()
	default:
		m.lack("", "there is no such step")
	}
	if m.step.Missing != nil {
		m.step.Commands = nil
	}
	return m.step
}

func (m *maker) lack(field, format string, args ...any) {
	m.step.Missing = append(m.step.Missing, Lack{field, fmt.Sprintf(format, args...)})
}

// file looks for a file that a step reads.
func (m *maker) file(field, name, none string) {
	if name == "" {
		if none != "" {
			m.lack(field, "%s", none)
		}
		return
	}
	switch err := m.has(name); {
	case errors.Is(err, fs.ErrNotExist):
		m.lack(field, "%s is not in the folder: put it back, or choose another", name)
	case err != nil:
		if path, ok := errors.AsType[*fs.PathError](err); ok {
			err = path.Err // what was done to find that out is no matter
		}
		m.lack(field, "%s cannot be read: %v", name, err)
	}
}

// result looks at a name of a result.
func (m *maker) result(what string) string {
	name := m.names[what]
	if err := folder.CheckName(name); err != nil {
		m.lack("result-"+what, "%v", err)
	}
	return name
}

// heights adds the file of the heights.
func (m *maker) heights(option string, cmd *Command) {
	if m.c.Heights.From == FromTable {
		_, wrong := m.c.Heights.Table.CSV()
		m.step.Missing = append(m.step.Missing, wrong...)
		if missing, all, _ := m.c.Heights.Table.Missing(); missing == all {
			m.lack("z-0-0", "no height is typed yet")
		}
		cmd.with(option, m.names["table"], Typed)
		return
	}
	m.file("heights-file", m.c.Heights.File, "no heights are chosen: pick a file of them, or type them")
	cmd.with(option, m.c.Heights.File, Reads)
}

// options adds those that were typed, of those of the command.
func (m *maker) options(command string, cmd *Command) {
	known := m.known(command)
	for _, name := range takes[command] {
		m.option(known, name, m.c.Options[name], "option-"+name, cmd)
	}
}

func (m *maker) option(known []option.Option, name, text, field string, cmd *Command) {
	value, err := set(known, name, text)
	switch {
	case err != nil:
		m.lack(field, "%v", err)
	case value == "true":
		cmd.plain("--" + name)
	case value != "":
		cmd.give(name, value)
	}
}

// one is the lens that one program is burned with.
func (m *maker) one() []string {
	switch {
	case slices.Contains(m.c.Lenses, m.c.With):
		return []string{m.c.With}
	case len(m.c.Lenses) > 0:
		return m.c.Lenses[:1]
	}
	return nil
}

// placed adds a command that lays a program over the surface.
func (m *maker) placed(command string, lenses []string, then func(*Command)) {
	c := m.c
	cmd := Command{}
	cmd.plain(command)
	m.file("program", c.Program, "no program is chosen")
	cmd = append(cmd, Word{c.Program, Reads})
	m.common(command, lenses, &cmd)
	if then != nil {
		then(&cmd)
	}
	m.step.Commands = append(m.step.Commands, cmd)
}

// common adds surface, lens, machine and options.
func (m *maker) common(command string, lenses []string, cmd *Command) {
	c := m.c
	m.heights("-s", cmd)
	if c.Depth == ByRecord {
		if len(lenses) == 0 {
			m.lack("lenses", "no lens is chosen: pick a record, make one, or say how far it is sharp")
		}
		for _, l := range lenses {
			m.file("lenses", l, "")
			cmd.with("-l", l, Reads)
		}
	} else {
		m.sharp(cmd)
	}
	m.file("machine", c.Machine, "")
	cmd.with("-m", c.Machine, Reads)
	m.file("keep-out", c.KeepOut, "")
	cmd.with("--keep-out", c.KeepOut, Reads)
	m.options(command, cmd)
}
