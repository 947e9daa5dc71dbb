package choice

import (
	"cmp"
	"slices"
	"strings"

	"sagitta/internal/desk/folder"
)

// Step is a step of the page: its command lines in their order, or what is missing before
// there are any.
type Step struct {
	Missing  []Lack
	Commands []Command
	// Tried is how many of them say all where the step is only tried; 0 for all.
	Tried int
}

// The steps.
const (
	StepSurface = "surface" // a surface of measured heights
	StepRungs   = "rungs"   // a lens record of what was sharp
	StepAdvise  = "advise"
	StepBefore  = "before" // the program as it is, run flat
	StepFlat    = Flat
	StepFollow  = Follow
	StepSplit   = Split
	StepReport  = "report" // of what was written
)

// Has says why a file cannot be read, nil where it can.
type Has func(name string) error

// placed are the options of what lays a program over a surface, in the order in which
// they are written.
var placed = []string{"datum", "shift", "rotate", "method", "surface-error", "outside", "defocus",
	"z-rate", "rapid", "slow", "slowest", "start", "start-z", "freed-height", "keep-ramps"}

// takes are those that each command is given, of what was typed.
var takes = map[string][]string{
	"advise": slices.Concat([]string{"use", "detail", "text"}, placed),
	"follow": slices.Concat([]string{"use"}, placed),
	"verify": placed,
	"report": placed,
	"split":  slices.Concat([]string{"use", "detail", "lead", "overlap", "order", "set-z", "pause"}, placed),
}

// reading are the options of surface that say how a file is read and fitted.
var reading = []string{"columns", "units", "decimal", "down", "up", "method", "keep-all"}

// Names are the names of the results, those that were not typed made of the program's.
func (c *Choices) Names() map[string]string {
	stem := folder.Stem(cmp.Or(c.Program, "job"))
	measured := c.Heights.File
	if c.Heights.From == FromTable {
		measured = c.Results["table"]
	}
	n := map[string]string{
		"table": "heights.csv", "surface": folder.Stem(cmp.Or(strings.TrimSpace(measured), "heights")) + "-surface.csv",
		"lens": "lens.toml", "machine": "machine.toml", "rungs": "lens.toml", "boxes": "clamps.csv",
		StepFollow: stem + "-followed.gcode", "follow-sheet": stem + "-followed-sheet.txt",
		"flat-sheet": stem + "-flat-sheet.txt", StepSplit: stem + "-zones",
	}
	of := map[string]string{Follow: StepFollow, Split: StepSplit, SplitFollows: StepSplit}[c.Way]
	n["report"] = cmp.Or(folder.Stem(cmp.Or(strings.TrimSpace(c.Results[of]), n[of])), stem) + "-report.html"
	for what := range n {
		if typed := strings.TrimSpace(c.Results[what]); typed != "" {
			n[what] = typed
		}
	}
	return n
}

// sharp adds the depth as it was typed: a number, or nearer and further.
func (m *maker) sharp(cmd *Command) {
	text := strings.TrimSpace(m.c.Sharp)
	if text == "" {
		m.lack("sharp", "how far the lens is sharp is not said: type it, or pick a lens record")
		return
	}
	value, err := Number(text)
	if err != nil {
		value, err = Pair(text)
	}
	if err != nil {
		m.lack("sharp", "%q: wants a number as in 1.5, or nearer and further as in -1.2,1.8", text)
		return
	}
	cmd.give("sharp", value)
}

func (m *maker) surface() {
	var cmd Command
	cmd.plain("surface")
	if m.c.Heights.From == FromTable {
		_, wrong := m.c.Heights.Table.CSV()
		m.step.Missing = append(m.step.Missing, wrong...)
		if missing, all, _ := m.c.Heights.Table.Missing(); all-missing < leastHeights {
			m.lack("z-0-0", "%d heights are typed; from %d on the surface is drawn", all-missing, leastHeights)
		}
		cmd = append(cmd, Word{m.names["table"], Typed})
	} else {
		m.file("heights-file", m.c.Heights.File, "no file of heights is chosen")
		cmd = append(cmd, Word{m.c.Heights.File, Reads})
	}
	known := m.known("surface")
	for _, name := range reading {
		m.option(known, name, m.c.Heights.Reading[name], "reading-"+name, &cmd)
	}
	cmd.with("-o", m.result("surface"), Writes)
	m.step.Commands = []Command{cmd}
}

// leastHeights is from how many on a surface is worth drawing.
const leastHeights = 4

func (m *maker) rungs() {
	var cmd Command
	cmd.plain("lens", "rungs")
	draft := m.c.Drafts["rungs"]
	value, err := Pair(draft["sharp"])
	if err != nil {
		m.lack("rungs-sharp", "the outermost sharp rungs are missing: wants nearer and further, as in -1.5,1.5")
	}
	cmd.give("sharp", value)
	known := m.known("lens rungs")
	for _, name := range []string{"step", "detail", "tested-on", "power", "feed", "recentre"} {
		m.option(known, name, draft[name], "rungs-"+name, &cmd)
	}
	cmd.with("-o", m.result("rungs"), Writes)
	m.step.Commands = []Command{cmd}
}

func (m *maker) flat() {
	m.placed("verify", m.one(), func(cmd *Command) {
		focus, err := Number(m.c.Options["focus"])
		if err != nil {
			m.lack("option-focus", "where the focus is set is not said: the advice says where it serves best")
		}
		cmd.give("focus", focus)
		cmd.with("--sheet", m.result("flat-sheet"), Writes)
	})
}

func (m *maker) follow() {
	out := m.result(StepFollow)
	m.placed("follow", m.one(), func(cmd *Command) {
		cmd.with("-o", out, Writes)
		cmd.with("--sheet", m.result("follow-sheet"), Writes)
	})
	var check Command
	check.plain("verify")
	check = append(check, Word{out, Made})
	missing := m.step.Missing
	m.common("verify", m.one(), &check)
	m.step.Missing = missing // said already
	check.with("--against", m.c.Program, Reads)
	m.step.Commands = append(m.step.Commands, check)
}

func (m *maker) split(follows bool) {
	out := m.result(StepSplit)
	m.placed("split", m.c.Lenses, func(cmd *Command) {
		if follows {
			cmd.plain("--follow")
		}
		cmd.with("-o", out, Folder)
	})
	var check Command
	check.plain("verify")
	check = append(check, Word{out, Made})
	check.with("--against", m.c.Program, Reads)
	m.step.Commands = append(m.step.Commands, check)
	m.step.Tried = len(m.step.Commands) - 1 // split has proved its zones, and says what that found
}

// report makes a page of what the way has written.
func (m *maker) report() {
	out, name := m.result("report"), m.names[m.c.Way]
	if m.c.Way == SplitFollows {
		name = m.names[StepSplit]
	}
	if m.c.Way == Flat {
		m.placed("report", m.one(), func(cmd *Command) {
			focus, err := Number(m.c.Options["focus"])
			if err != nil {
				m.lack("option-focus", "where the focus is set is not said")
			}
			cmd.give("focus", focus)
			cmd.with("-o", out, Writes)
		})
		return
	}
	var cmd Command
	cmd.plain("report")
	switch m.c.Way {
	case Follow:
		m.file("result-follow", name, "")
		cmd = append(cmd, Word{name, Reads})
		m.common("report", m.one(), &cmd)
	default:
		m.file("result-split", name+"/set.json", "")
		cmd = append(cmd, Word{name, Zones})
	}
	m.file("program", m.c.Program, "no program is chosen")
	cmd.with("--against", m.c.Program, Reads)
	cmd.with("-o", out, Writes)
	m.step.Commands = []Command{cmd}
}
