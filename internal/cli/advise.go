package cli

import (
	"io"

	"github.com/spf13/cobra"

	"sagitta/internal/advise"
)

func (s *session) adviseCommand() *cobra.Command {
	var o settings
	var so showOptions
	c := &cobra.Command{
		Use:   "advise PROGRAM -s SURFACE -l LENS [-l LENS ...] [--detail MM | --text PT]",
		Short: "say which way is right: flat, follow or split, and with which lens",
		Long: `advise says which way is right for a job: as it is at one focus (flat), following
the surface (follow), or divided among zones (split); with which lens, how much
of its depth is spent, and why. What would be cheaper comes first. It writes
nothing but the answer.

The smallest detail of the job decides which lenses come into question. Without
--detail or --text it is guessed from the program, and a guess only puts a lens
last.`,
		Example: `  Two lenses, and text of 4 pt on a bowed sheet:

    sagitta advise plate.gcode -s sheet.csv -l short.toml -l long.toml --text 4 -m bench.toml`,
		Args: operands("program"),
		RunE: func(c *cobra.Command, args []string) error {
			return s.advise(&o, &so, args[0], c)
		},
	}
	o.manyLenses, o.lensesLater = true, true
	o.bind(c.Flags())
	f := c.Flags()
	f.Float64Var(&so.detail, "detail", 0, "height in `MM` of the smallest detail")
	f.Float64Var(&so.text, "text", 0, "size in `PT` of the smallest type, 1 pt being 25.4/72 mm")
	f.StringVar(&so.font, "font", "liberation", "whose capitals are meant: liberation or dejavu")
	return c
}

func (s *session) advise(o *settings, so *showOptions, name string, c *cobra.Command) error {
	detail, what, err := so.smallest(c)
	if err != nil {
		return err
	}
	l, err := s.load(o, name)
	if err != nil {
		return err
	}
	lenses, err := s.candidates(l, detail)
	if err != nil {
		return err
	}
	in, err := s.files.OpenTwice(name)
	if err != nil {
		return err
	}
	defer in.Close()
	if err := s.files.CheckOutputs(o.summary); err != nil {
		return err
	}
	opt := advise.Options{Follow: l.followOptions(in.Name), Zone: l.zoneOptions(&splitSettings{}),
		Detail: advise.Detail{MM: detail, From: what}}
	opt.Zone.Name = in.Name
	for i := range lenses {
		opt.Lenses = append(opt.Lenses, lenses[i].Lens)
	}
	if o.summary != "" {
		in.KeepDigest()
	}
	first := true
	a, err := advise.Run(func() (io.Reader, error) {
		if first {
			first = false
			return in, nil
		}
		_, err := in.Seek(0, io.SeekStart)
		return in, err
	}, opt)
	if err := s.files.Err(nil); err != nil {
		return err
	}
	if err != nil {
		if o.summary != "" {
			if werr := s.writeAdviseRefusal(l, in.Name, err, in.Sum()); werr != nil {
				return werr
			}
		}
		return err
	}
	out, err := s.files.Create("")
	if err != nil {
		return err
	}
	r := &advice{a: a, l: l, lenses: lenses, program: in.Name, detail: so, flags: c.Flags()}
	if err := r.write(out); err != nil {
		return err
	}
	if o.summary != "" {
		if err := s.writeFigures(o.summary, r.figures(in.Sum())); err != nil {
			return err
		}
	}
	if err := out.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	r.tell(s.stderr)
	if a.Verdict == advise.None {
		return notHeld{}
	}
	return nil
}
