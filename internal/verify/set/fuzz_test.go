package set

import (
	"path/filepath"
	"strings"
	"testing"
)

// Any list is refused in one line, or is one whose zones can be judged.
func FuzzRead(f *testing.F) {
	for _, text := range []string{setList, `{"schema": 1, "zones": [{"program": "a", "focus_mm": 1, "focus_point_mm": [0, 0], "order": 1, "stop_line": 3, "focus_stop_line": 3, "raised_lines": [[3, 5], [7, 0]], "raised_mm": [1, 2]}]}`,
		`{"schema": 1, "overlap_mm": 1e308, "zones": [{"program": "..", "focus_mm": 1}]}`} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Read(strings.NewReader(text), "set.json")
		if err != nil {
			if strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "set.json: ") {
				t.Errorf("%q: %v", text, err)
			}
			return
		}
		for i, z := range s.Zones {
			if z.FocusMM == nil || z.FocusPointMM == nil || filepath.Base(z.Program) != z.Program || z.Order != nil && *z.Order != i+1 {
				t.Errorf("%q: zone %d passes: %+v", text, i+1, z)
			}
		}
	})
}
