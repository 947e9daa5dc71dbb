package cli

import (
	"cmp"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/job/jig"
	"sagitta/internal/phrase"
	"sagitta/internal/rewrite/placed"
)

type placeOptions struct {
	options
	Burns   string `opt:"burns" file:"toml" is:"rules about burns of the part, a TOML <FILE>, for --rules"`
	Rules   string `opt:"rules" file:"toml" is:"write the rules for the burns of all parts to <FILE>"`
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
	if (o.Burns == "") != (o.Rules == "") {
		return usagef("give both: --burns RULES.toml has the lines of the part's program, and --rules FILE is written with those of all parts", "--burns without --rules, or that without it")
	}
	r, err := s.prepare(&o.options, job.MaybeLens, name, o.Places)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), o.Heights, o.Rules, o.Summary); err != nil {
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
	rules, err := o.rules(r, &j, parts)
	if err != nil {
		return err
	}
	made, err := s.files.Make(files.Result{Name: o.Heights, Text: heights}, files.Result{Name: o.Rules, Text: rules})
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
	if o.Rules != "" {
		s.say.Line("the rules for the burns of all of them are %s", o.Rules)
	}
	return nil
}

// rules gives the file of the rules for the burns of all parts, where there are any.
func (o *placeOptions) rules(r *run, j *jig.Jig, parts []placed.Part) ([]byte, error) {
	if o.Burns == "" {
		return nil, nil
	}
	rules, err := r.readRules(o.Burns, o.Places)
	if err != nil {
		return nil, err
	}
	if rules, err = j.Rules(parts, rules, o.Burns); err != nil {
		return nil, err
	}
	return rules.Text()
}
