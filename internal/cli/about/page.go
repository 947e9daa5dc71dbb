package about

import (
	"fmt"
	"strings"
)

// Name is what a page is called, such as sagitta-lens-fit, and where it stands: in section
// 1 for a command, 5 for a form of file.
type Name struct {
	Name    string
	Section int
}

// String is how pages are referred to, such as sagitta-lens-fit(1).
func (n Name) String() string { return fmt.Sprintf("%s(%d)", n.Name, n.Section) }

// File is the name of the page's file.
func (n Name) File() string { return fmt.Sprintf("%s.%d", n.Name, n.Section) }

// Page is a page of the manual.
type Page struct {
	Name
	// Short says in a line what it is about, Usage how a command is used ("" where it is
	// none), Long all that is to be said: paragraphs and, indented, what stands as it is.
	Short, Usage, Long string
	Options            []Entry
	// Commands are those of the command, with what each does.
	Commands []Entry
	// Examples are paragraphs indented by two, and command lines indented by four.
	Examples string
	// See are the names of further pages, with their sections.
	See []string
}

// Entry is an option or a command, and what it means.
type Entry struct{ Name, Meaning string }

// Roff is the page for man, in the macros of man(7) and in ASCII: what is not has its
// number. It says no date and no version, so that it changes only with its texts.
func (p *Page) Roff() []byte {
	var r roff
	r.request("TH", strings.ToUpper(p.Name.Name), fmt.Sprint(p.Section), "", "sagitta", "sagitta")
	// Long names of files and options are not to be parted, nor lines to be spaced out.
	r.request("nh")
	r.request("ad", "l")
	r.request("SH", "NAME")
	r.text(p.Name.Name + " - " + p.Short)
	if p.Usage != "" {
		r.request("SH", "SYNOPSIS")
		r.text(p.Usage)
	}
	r.request("SH", "DESCRIPTION")
	r.blocks(p.Long, 0)
	r.entries("COMMANDS", p.Commands)
	r.entries("OPTIONS", p.Options)
	if p.Examples != "" {
		r.request("SH", "EXAMPLES")
		r.blocks(p.Examples, 2)
	}
	if len(p.See) > 0 {
		r.request("SH", "SEE ALSO")
		r.text(strings.Join(p.See, ", "))
	}
	return r.Bytes()
}
