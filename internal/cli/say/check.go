package say

import (
	"sagitta/internal/job"
	"sagitta/internal/setup"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
)

// Check is what the check of a program, or of a folder of zones, came to.
type Check struct {
	Job *job.Job
	// Name is that of what was checked, and Original that of what it was checked against,
	// "" where there was none.
	Name, Original string

	// Program is what was found of a program, nil of a folder; Setting is where the focus is
	// set for it, and Rehearsal tells that it is one.
	Program   *verify.Result
	Setting   setup.Setting
	Rehearsal bool
	// Times are what the program takes where inertia is known, else nil.
	Times *Timing

	// Set is what was found of a folder, and Zones what it lists; Instead is what was given
	// instead of what it holds.
	Set     *set.Result
	Zones   *set.Set
	Instead []string
}

// Holds reports whether nothing failed.
func (c *Check) Holds() bool {
	if c.Zones != nil {
		return c.Set.Holds()
	}
	return c.Program.Holds()
}

// Fill puts what was found into figures.
func (c *Check) Fill(g *Figures) {
	if c.Zones != nil {
		g.Set(c.Job, c.Zones, c.Set)
	} else {
		g.Verify(c.Job, c.Program, c.Times)
	}
}

// Sheet is the bench sheet of a program.
func (c *Check) Sheet() []byte {
	return VerifySheet(c.Job, c.Name, c.Setting, c.Rehearsal, c.Program)
}
