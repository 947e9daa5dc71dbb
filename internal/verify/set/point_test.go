package set

import (
	"strings"
	"testing"
)

// waiting is a program of two zones that waits before it moves and at their focus
// points, and its list.
const waiting = `G21 G90
M5
M0
G0 X75 Y30
(zone 1: lens a, set the focus here, 0.750 mm over the datum)
M0
G0 X50 Y0
G1 X100 F1000 S500 M4
M5
G0 X80 Y50
G1 X90 S300 M4
M5
G0 Z0.5
G0 X30 Y30
G0 Z0
(zone 2: lens a, set the focus here, 0.300 mm over the datum)
M0
G0 X0 Y0
M4 S500
G1 X50 F1000
M5
G0 X10 Y10
M4 S300
G2 X10 Y10 I5 J0
G4 P0.5
M5
G0 X50 Y50
M4 S300
G1 X55
M5
G0 X0 Y0
M2
`

const waitingList = `{"schema": 1, "zones": [
	{"program": "both", "lens": "a", "focus_mm": 0.75, "focus_point_mm": [75, 30], "focus_point_height_mm": 0.75, "stop_line": 3, "focus_stop_line": 6},
	{"program": "both", "lens": "a", "focus_mm": 0.3, "focus_point_mm": [30, 30], "focus_point_height_mm": 0.3, "stop_line": 17, "focus_stop_line": 17}]}`

// Where the operator is told to set the focus the head stands over the place of the
// list, at the Z from which the zone's focus counts, and the surface is as high there
// as the list says.
func TestFocusIsSetWhereTheListSays(t *testing.T) {
	for _, c := range []struct{ name, old, new, list, want string }{
		{name: "as it is"},
		{name: "elsewhere", old: "G0 X30 Y30", new: "G0 X20 Y10", want: "zone 2: line 17: the focus is not set where the list says: as the focus is set the head stands 22.361 mm from X30 Y30 of the list, at X20 Y10"},
		{name: "a little off", old: "G0 X30 Y30", new: "G0 X30.002 Y30", want: "zone 2: line 17: the focus is not set where"},
		{name: "nowhere", old: "G0 X75 Y30", new: "G0 Y30", want: "zone 1: line 6: the focus is not set where the list says: where the head stands as the focus is set is not known"},
		{name: "high up", old: "G0 Z0\n(zone 2: lens a, set the focus here, 0.300 mm over the datum)\nM0\n", new: "(zone 2: lens a, set the focus here, 0.300 mm over the datum)\n\nM0\nG0 Z0\n",
			want: "zone 2: line 17: the focus is not set where the list says: as the focus is set Z stands 0.5 mm from where it counts"},
		{name: "point moved", list: `[75, 30]=[20, 30]`, want: "zone 1: the focus is not set where the list says: the surface is 0.2 mm high there, and 0.75 mm by the list, at X20 Y30"},
		{name: "point off the surface", list: `[75, 30]=[175, 30]`, want: "the surface has no height there, at X175 Y30"},
		{name: "height wrong", list: `"focus_point_height_mm": 0.75="focus_point_height_mm": 0.744`, want: "zone 1: the focus is not set where the list says: the surface is 0.75 mm high there, and 0.744 mm by the list"},
		{name: "height missing", list: `"focus_point_height_mm": 0.75, =`},
		{name: "height missing and point moved", list: `"focus_point_mm": [75, 30], "focus_point_height_mm": 0.75="focus_point_mm": [75.6, 30]`, want: "the surface is 0.756 mm high there, and 0.75 mm by the list"},
		{name: "other height, as said", list: `"focus_mm": 0.75="focus_mm": 0.76`, old: "0.750 mm", new: "0.760 mm"},
		{name: "told otherwise", old: "here, 0.750 mm", new: "here, 0.760 mm", want: "zone 1: line 6: the operator is told otherwise than in the list: to set the focus 0.76 mm over the datum instead of 0.75 mm"},
		{name: "told elsewhere", old: "(zone 1: lens a, set the focus here, 0.750 mm over the datum)\nM0\n", new: "(set the focus here, 9 mm over the datum)\nG0 X75 Y30 M0 (lens a)\n"},
		{name: "told long before", old: "G0 X75 Y30\n(zone 1: lens a, set the focus here, 0.750 mm over the datum)\n", new: "(set the focus here, 9 mm over the datum)\nG0 X75 Y30\n"},
		{name: "a wait more", old: "M4 S300\nG2", new: "(raise the lens by 9 mm)\nM0\nM4 S300\nG2", want: "zone 2: line 24: word differs from the original: M0 is not in the original here, nor does the list have the program wait there"},
		{name: "a wait more at the end", old: "M5\nG0 X0 Y0\nM2", new: "M5\nM1\nG0 X0 Y0\nM2", want: "zone 2: line 31: word differs from the original: M1 is not"},
	} {
		t.Run(c.name, func(t *testing.T) {
			list, text := waitingList, waiting
			if from, to, ok := strings.Cut(c.list, "="); ok {
				list = cut(t, list, from, to)
			}
			if c.old != "" {
				text = cut(t, text, c.old, c.new)
			}
			res := runSet(t, list, map[string]string{"both": text}, setOriginal, nil)
			if got := failuresOf(res); (c.want == "") != res.Holds() || !strings.Contains(got, c.want) {
				t.Errorf("got\n%swant %q", got, c.want)
			}
		})
	}
}
