package cli

import (
	"cmp"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/job/jig"
	"sagitta/internal/phrase"
)

type placeOptions struct {
	options
	Heights string `opt:"heights" file:"csv" is:"write the surface as the stock lies at the places to <FILE>"`
	Out     string `opt:"output,o" file:"program" is:"write the program of all parts to <FILE> (default: standard output)"`
}

func (o *placeOptions) run(s *session, args []string) error {
	name := args[0]
	if o.Places == "" {
		return usagef("name a file of [[place]] tables with --places JIG.toml", "no places given")
	}
	if name == "-" {
		return usagef("give the name of a file", "the program is read for each place, and standard input only once")
	}
	r, err := s.prepare(&o.options, job.MaybeLens, name, o.Places)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), o.Heights, o.Summary); err != nil {
		return err
	}
	j := jig.Jig{Job: r.job, Name: name, Open: s.open, Places: r.job.Places, File: o.Places, From: o.From}
	out, err := s.files.Create(o.Out)
	if err != nil {
		return err
	}
	parts, err := j.Compose(out)
	if err != nil {
		return err
	}
	heights, notes, err := j.Surface(maker)
	if err != nil {
		return err
	}
	for _, line := range notes {
		s.say.Line("%s", line)
	}
	made, err := s.files.Make(files.Result{Name: o.Heights, Text: heights})
	if err != nil {
		return err
	}
	err = r.finish("place", name, nil, func(g *say.Figures) {
		g.Verdict, g.Figures = "placed", map[string]any{"parts": len(parts), "places": len(j.Places)}
		g.Inputs["program"], _ = r.digestOf(name)
		g.Changed = true
	}, append(made, out)...)
	if err != nil {
		return err
	}
	for k := range parts {
		s.say.Line("place %d, %s: from line %d", parts[k].Number, parts[k].Says, parts[k].Line)
	}
	s.say.Line("%s of %s in %s, each as by itself", phrase.Count(len(parts), "part"), name, cmp.Or(o.Out, "the program"))
	s.say.Made("surface of their stock", o.Heights)
	return nil
}
