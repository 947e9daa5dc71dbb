package say

import (
	"strings"
	"testing"

	"sagitta/internal/zone"
	"sagitta/internal/zone/sheet"
)

// By how much a lens is to be raised is rounded up, as it is on the sheet: less
// would not be clear.
func TestRaiseIsRoundedUp(t *testing.T) {
	var b strings.Builder
	Voice{&b}.zone(&zone.Plan{Set: sheet.Set{Lenses: []sheet.Lens{{}}}}, &zone.Zone{Raised: make([]sheet.Raise, 2), Raise: 1.331})
	if !strings.Contains(b.String(), "by up to 1.34 mm") {
		t.Error(b.String())
	}
}
