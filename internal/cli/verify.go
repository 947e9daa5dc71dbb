package cli

type verifyOptions struct{ checkOptions }

func (o *verifyOptions) run(s *session, args []string) error {
	c, err := o.check(s, args[0])
	if err != nil {
		return err
	}
	if err := c.end("verify"); err != nil {
		return err
	}
	return held(c)
}

// held is nil where a check held.
func held(result interface{ Holds() bool }) error {
	if result.Holds() {
		return nil
	}
	return errNotHeld
}
