package say

import (
	"strings"
	"testing"

	"sagitta/internal/job"
	"sagitta/internal/record"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone"
	"sagitta/internal/zone/sheet"
)

// By how much a lens is to be raised is rounded up, as it is on the sheet: less
// would not be clear.
func TestRaiseIsRoundedUp(t *testing.T) {
	var b strings.Builder
	j := &job.Job{Options: &job.Options{Datum: &[2]float64{}}, Machine: record.DefaultMachine(), Lenses: make([]job.Lens, 1)}
	plan := &zone.Plan{Set: sheet.Set{Lenses: make([]sheet.Lens, 1), Zones: []zone.Zone{{Raised: make([]sheet.Raise, 2), Raise: 1.331}}}}
	Voice{W: &b}.Split(j, plan, false, "zones", &job.Proof{Job: j, Zones: &set.Set{Zones: make([]set.Zone, 1)}, Result: &set.Result{}})
	if !strings.Contains(b.String(), "by up to 1.34 mm") {
		t.Error(b.String())
	}
}
