package cli

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"maps"
	"path/filepath"
	"strings"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/zone/sheet"
)

type reportOptions struct {
	checkOptions
	Out string `opt:"output,o" file:"html" is:"write the page to <FILE>, in HTML"`
}

func (o *reportOptions) run(s *session, args []string) error {
	if o.Out == "" {
		return usagef("give it a name with -o, as in -o report.html", "the page has no name")
	}
	c, err := o.check(s, args[0], o.Out)
	if err != nil {
		return err
	}
	var made []files.Made
	if c.err == nil {
		if made, err = o.page(c); err != nil {
			return err
		}
	}
	if err := c.end("report", made...); err != nil {
		return err
	}
	s.say.Made("report", o.Out)
	return held(c)
}

// page makes the page of a check.
func (o *reportOptions) page(c *checked) ([]files.Made, error) {
	// The page's figures are what verify gives of the same: its result is no part of them.
	g := c.figures("verify", c.Name)
	options := maps.Clone(g.Options)
	delete(g.Options, "output")
	c.Fill(g)
	text, err := g.JSON()
	if err != nil {
		return nil, err
	}
	with := say.Reported{Check: &c.Check, Trace: c.trace, Options: options, Assumed: c.assumed, Maker: maker, Figures: text}
	for _, word := range c.session.args {
		with.Command += " " + say.Quote(word)
	}
	with.Command = "sagitta" + with.Command
	if with.Files, err = o.files(c); err != nil {
		return nil, err
	}
	if c.Zones != nil {
		if with.FolderSheet, err = c.folderSheet(); err != nil {
			return nil, err
		}
	}
	page, err := with.Page()
	if err != nil {
		return nil, err
	}
	var html bytes.Buffer
	if err := page.Write(&html); err != nil {
		return nil, err
	}
	return c.files.Make(files.Result{Name: o.Out, Text: html.Bytes()})
}

// files are what was read, with their digests.
func (o *reportOptions) files(c *checked) (list [][2]string, err error) {
	recorded := filepath.Join(c.Name, job.ListFile) + ", " // what the list stands for is no file
	add := func(what, name, digest string) {
		if name == "" || err != nil {
			return
		}
		if digest == "" && name != "-" && !strings.HasPrefix(name, recorded) {
			digest, err = c.digestOf(name)
		}
		if digest != "" {
			name += ", " + digest
		}
		list = append(list, [2]string{what, name})
	}
	if c.Zones != nil {
		for i := range c.Zones.Zones {
			if z := &c.Zones.Zones[i]; i == 0 || z.Program != c.Zones.Zones[i-1].Program {
				add("program", filepath.Join(c.Name, z.Program), "")
			}
		}
		add("list of zones", filepath.Join(c.Name, job.ListFile), "")
	} else {
		add("program", c.Name, c.program.Sum())
	}
	if c.original != nil {
		add("original", o.Against, c.original.Sum())
	}
	add("surface", o.Surface, "sha256:"+c.job.Placed.Surface().Source().Digest)
	for _, l := range o.Lenses {
		add("lens", l, "")
	}
	add("machine", o.Machine, "")
	if o.KeepOut != "" && o.KeepOutFile() {
		add("boxes", o.KeepOut, "")
	}
	add("fixture", o.Fixture, "")
	add("readings", o.Readings, "")
	return list, err
}

// digestOf reads a file for its digest.
func (r *run) digestOf(name string) (string, error) {
	return job.Read(r.open, name, func(in io.Reader, _ string) (string, error) { return sheet.DigestOf(in) })
}

// mostSheet is how many bytes of a folder's sheet are read: more pages than anybody
// prints.
const mostSheet = 1 << 20

// folderSheet reads the sheet of a folder of zones, "" where it has none.
func (c *checked) folderSheet() (string, error) {
	text, err := job.Read(c.open, filepath.Join(c.Name, "sheet.txt"), func(in io.Reader, _ string) (string, error) {
		b, err := io.ReadAll(io.LimitReader(in, mostSheet))
		return string(b), err
	})
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return text, err
}
