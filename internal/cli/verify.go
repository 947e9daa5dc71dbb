package cli

import "sagitta/internal/report"

type verifyOptions struct {
	checkOptions
	plotOptions
}

func (o *verifyOptions) run(s *session, args []string) error {
	if err := o.plotOptions.check(o.Rehearsal); err != nil {
		return err
	}
	var more []string
	if o.Plot != "" {
		more = []string{o.Plot}
	}
	c, err := o.checkOptions.check(s, args[0], more...)
	if err != nil {
		return err
	}
	if o.Plot != "" && c.err == nil {
		by := report.ByDefocus
		if c.Zones != nil {
			by = report.ByZone
		}
		if err := c.draw(o.Plot, by, c.Drawn(c.trace)); err != nil {
			return err
		}
	}
	if err := c.end("verify"); err != nil {
		return err
	}
	s.say.Made("picture", o.Plot)
	return held(c)
}

// held is nil where a check held.
func held(result interface{ Holds() bool }) error {
	if result.Holds() {
		return nil
	}
	return errNotHeld
}
