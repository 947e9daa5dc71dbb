package cli

import (
	"bytes"
	"fmt"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/option"
	"sagitta/internal/record"
	"sagitta/internal/report"
)

// showOptions are the options of lens show.
type showOptions struct {
	detailOptions
	Plot string `opt:"plot" file:"svg|png" is:"draw spot against Z into <FILE>, .svg or .png"`
}

func (o *showOptions) run(s *session, names []string) error {
	detail, what, err := o.smallest(s)
	if err != nil {
		return err
	}
	if err := checkPlot(o.Plot); err != nil {
		return err
	}
	if err := files.OneStream(names...); err != nil {
		return err
	}
	var lenses []*record.Lens
	for _, name := range names {
		l, err := job.Read(s.open, name, record.ReadLens)
		if err != nil {
			return err
		}
		lenses = append(lenses, l)
	}
	var picture bytes.Buffer
	if o.Plot != "" {
		if err := report.LensPlot(&picture, plotFormat(o.Plot), say.Curves(lenses)); err != nil {
			return err
		}
	}
	err = s.files.Write(files.Result{Text: []byte(s.out.Fit(say.Lenses(lenses, detail, what, s.out)))}, files.Result{Name: o.Plot, Text: picture.Bytes()})
	if err != nil {
		return err
	}
	for i, l := range lenses {
		d, known := l.Depth()
		s.say.Line("%s", say.LensDepth(names[i], "depth", d, known))
		if detail > 0 {
			d, known := l.DepthFor(detail)
			s.say.Line("%s", say.LensDepth(names[i], "depth for "+what, d, known))
		}
	}
	return nil
}

// detailOptions say what the smallest detail of a job is.
type detailOptions struct {
	Detail float64 `opt:"detail" is:"height in <MM> of the smallest detail"`
	Text   float64 `opt:"text" is:"size in <PT> of the smallest type, 1 pt being 25.4/72 mm"`
	Font   string  `opt:"font" in:"liberation|dejavu" is:"<NAME> of the font whose capitals are meant: liberation or dejavu"`
}

func newDetail() detailOptions { return detailOptions{Font: "liberation"} }

// smallest gives the smallest detail asked for and its name; 0 for none.
func (o *detailOptions) smallest(s *session) (mm float64, what string, err error) {
	for name, v := range map[string]float64{"detail": o.Detail, "text": o.Text} {
		if s.given(name) && !option.Within(v, "(0,)") {
			return 0, "", usagef("", "--%s: wants a finite number above zero, not %g", name, v)
		}
	}
	mm, font, ok := record.CapHeightMM(o.Text, o.Font)
	switch {
	case !ok:
		return 0, "", usagef("", "--font %s: wants liberation or dejavu", o.Font)
	case o.Detail > 0 && o.Text > 0:
		return 0, "", usagef("", "give one of --detail and --text")
	case o.Detail > 0:
		return o.Detail, fmt.Sprintf("a detail of %g mm", o.Detail), nil
	case o.Text > 0:
		return mm, fmt.Sprintf("text of %g pt (capitals %.3f mm, %s)", o.Text, mm, font), nil
	}
	return 0, "", nil
}
