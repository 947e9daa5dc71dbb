package machine

import (
	"strings"
	"testing"

	"sagitta/internal/diag"
)

func TestRefuses(t *testing.T) {
	for _, c := range []struct {
		text        string
		want        string // LINE:COL: what, the beginning
		unsupported bool
	}{
		// Malformed (RS274 3.3 to 3.8).
		{"G1 G2 X1", "1:4: two motion words on one line", false},
		{"G1 X1 G0", "1:7: two motion words on one line", false},
		{"G4 P1 G4", "1:7: G4 and another word of its group", false},
		{"G80 G1", "1:5: two motion words on one line", false},
		{"G90 G91", "1:5: G91 and another word of its group on one line", false},
		{"G20 G21", "1:5: G21 and another word of its group", false},
		{"G93 G94", "1:5: G94 and another word of its group", false},
		{"G61 G64", "1:5: G64 and another word of its group", false},
		{"M3 M5", "1:4: two words that switch the beam on one line", false},
		{"M0 M2", "1:4: two words that stop the program on one line", false},
		{"M30 M1", "1:5: two words that stop the program on one line", false},
		{"X1", "1:1: X without a motion mode", false},
		{"G0 X1 Y1\nG80\n N5 Y2", "3:5: Y without a motion mode", false},
		{"F1 Z1", "1:4: Z without a motion mode", false},
		{"M5 G1 X1", "1:4: a feed move without a feed", false},
		{"M5 G1\nX1", "2:1: a feed move without a feed", false},
		{"G1 X1 F0", "1:7: a feed move at F0", false},
		{"F0\nG1 X1", "2:1: a feed move at F0", false},
		{"G1 X1 F-1", "1:7: F is negative", false},
		{"M3 S-1", "1:4: S is negative", false},
		{"F5\nG93 G1 X1", "2:5: a G93 move without F on its line", false},
		{"G93 G1 X1 F5\nX2", "2:1: a G93 move without F on its line", false},
		{"G93 F5\nG94 G1 X1", "2:5: a feed move without a feed", false},
		{"F5\nG93\nG94 G1 X1", "3:5: a feed move without a feed", false},
		{"F5 G2 X1", "1:4: an arc without I, J or R", false},
		{"F5 G2 X2 I1\nZ1", "2:1: an arc without I, J or R", false},
		{"F5 G2 X1 I1 R1", "1:13: an arc with both R and I, J", false},
		{"F5 G2 X0 Y0 R1", "1:13: an R arc that ends where it starts", false},
		{"F5 G2 Z1 R1", "1:10: an R arc that ends where it starts", false},
		{"F5 G2 X2.1 R1", "1:12: an R arc that cannot exist: its ends are 2.1 mm apart", false},
		{"F5 G2 X1 R0", "1:10: an R arc that cannot exist", false},
		{"F5 G2 X2 I1.01", "1:10: the arc's radii at its start and end differ by 0.02 mm", false},
		{"F5 G2 X2 J0", "1:10: an arc without a radius", false},
		{"F5 G2 X0.001 I0.001", "1:14: an arc without a radius", false},
		{"F5 G2 X1 I1 K1", "1:13: K has no meaning for an arc in the XY plane", false},
		{"F5 G1 X1 I1", "1:10: I, J, K and R belong to an arc", false},
		{"R1", "1:1: I, J, K and R belong to an arc", false},
		{"G4", "1:1: G4 without P", false},
		{"G4 P-1", "1:4: G4 waits a negative time", false},
		{"G-1", "1:1: G with a negative number", false},
		{"M-1", "1:1: M takes a whole number", false},
		{"M3.5", "1:1: M takes a whole number", false},
		// Valid, but not supported.
		{"G1 G18", "1:4: G18 is not supported", true},
		{"G19", "1:1: G19 is not supported", true},
		{"G0 X2000000000", "1:4: a coordinate beyond a thousand kilometres", true},
		{"G0 X900000000\nG91 X900000000", "2:5: a place beyond a thousand kilometres", true},
		{"G41", "1:1: G41 is not supported", true},
		{"G42 D1", "1:1: G42 is not supported", true},
		{"G81 X1 Z-1 R1", "1:1: G81 is not supported", true},
		{"G89", "1:1: G89 is not supported", true},
		{"G59.4", "1:1: G59.4 is not supported", true},
		{"G28.1", "1:1: G28.1 is not supported", true},
		{"G92", "1:1: G92 without an axis", false},
		{"G92 X1 I1", "1:8: I, J, K and R belong to an arc", false},
		{"G92 G1 X1", "1:5: G92 and a motion on one line", false},
		{"G0 G28 X1", "1:1: G28 and a motion on one line", false},
		{"G28 G30", "1:5: G30 and another word of its group", false},
		{"G92.2 X1", "1:7: G92.2 and a motion on one line", true},
		{"M100 G28 X1", "1:1: an unknown M word with X is not supported", true},
		{"G80 G53 X1", "1:5: G53 without G0 or G1", false},
		{"G2 G53 X1", "1:4: G53 without G0 or G1", false},
		{"M5 G1 G53 X1", "1:4: a feed move without a feed", false},
		{"M3 S5 F5 G1 G53 X1", "1:13: a burn by G53 is not supported", true},
		{"F5 G1 G53 X1", "1:7: a burn by G53 is not supported", true},
		{"G28 X2000000000", "1:5: a coordinate beyond a thousand kilometres", true},
		{"G0 X1\nG55", "2:1: G55 after the first motion is not supported", true},
		{"G55\nG0 X1\nG54", "3:1: G54 after the first motion is not supported", true},
		{"G54 G55", "1:5: G55 and another word of its group", false},
		{"G0 X1\nG10 L2 P1 X5", "2:1: G10 after the first motion is not supported", true},
		{"G55\nG0 X1\nM2\nG0 X2", "4:4: a motion after the program's end on line 3 took it out of G55", true},
		{"G90.1 F5 G2 X1 I2", "1:16: an arc in G90.1 without both I and J", true},
		{"G90.1\nM2\nF5 G2 X2 I1", "3:4: an arc after the end of a program in G90.1", true},
		{"G91.1 G90.1", "1:7: G90.1 and another word of its group", false},
		{"M98 P5", "1:1: M98 (subprogram) is not supported", true},
		{"G1 M117 X5", "1:4: M117 (text) beside other words", true},
		// An axis that is not known.
		{"F5 M3 S5\nG28 X0\nG1 Y1", "3:1: a burn while X is unknown since the G28 on line 2", true},
		{"F5 M3 S5\nG53 G0 Z0\nG1 Y1", "3:1: a burn while Z is unknown since the G53 on line 2", true},
		{"F5 M3 S5\nG30\nG0 X1 Y1\nG1 Y2", "4:1: a burn while Z is unknown since the G30 on line 2", true},
		{"F5 M3 S5\nG28 Z0\nG91 G0 Z1\nG1 Y2", "4:1: a burn while Z is unknown since the G28 on line 2", true},
		{"M3 S5\nG28 Y0\nG4 P1", "3:1: a burn while Y is unknown since the G28 on line 2", true},
		{"F5 M5\nG28 Y0\nG2 I1", "3:1: an arc while Y is unknown since the G28 on line 2", true},
		{"F5 M5\nG28 Y0\nG92 Y3\nG0 Y5\nM3 S1 G1 X1", "5:7: a burn while Y is unknown: the G92 on line 3 was said where it was not known", true},
		{"G38.2 Z-5", "1:1: G38.2 is not supported", true},
		{"G43 H1", "1:1: G43 is not supported", true},
		{"G5", "1:1: G5 is not supported", true},
		{"G1.01", "1:1: G1.01 is not supported", true},
		{"G95", "1:1: G95 is not supported", true},
		{"G0 A1", "1:4: axis A is not supported", true},
		{"G0 X1 W1", "1:7: axis W is not supported", true},
		{"M100 X1", "1:1: an unknown M word with X is not supported", true},
		{"F5 G2\nM100 I1", "2:1: an unknown M word with I is not supported", true},
		{"F5 G2 I1 P2", "1:10: P (turns) on an arc is not supported", true},
		{"G0 X1\nG4 P1 X2", "2:7: a dwell and a motion on one line", true},
		{"/X1", "1:2: X on an optional line", true},
		{"/ M3", "1:3: M3 on an optional line", true},
		{"F5\nG20 G1 X1", "2:5: a feed move at an F from before the units changed", true},
	} {
		_, _, err := runWith(at(0, 0), c.text)
		if err == nil || !strings.HasPrefix(err.Error(), "t.nc:"+c.want) || isUnsupported(err) != c.unsupported {
			t.Errorf("%q: %T %v, want %s", c.text, err, err, c.want)
		}
	}
	for text, want := range map[string]string{
		"G18": "XY plane", "G19": "XY plane", "G41": "beam itself", "G42": "beam itself", "G81": "as moves", "G43": "no tool length",
		"G89":        "as moves",
		"G0 X1\nG10": "one work offset", "G0 X1\nG59.3": "one work offset",
		"M3 S5 F5\nG28 Z0\nG1 X1": "absolute Z", "M3 S5 F5 G1 G53 X1": "beam off",
		"G0 B1": "X, Y and Z", "X1": "G0 or G1 first",
	} {
		if _, _, err := runWith(at(0, 0), text); !strings.Contains(diag.Hint(err), want) {
			t.Errorf("%q: hint %q, want one of %q", text, diag.Hint(err), want)
		}
	}
	for _, text := range []string{"G5", "G54.1", "G59.4", "G92.4", "G80.1", "G89.1", "G44"} {
		if _, _, err := runWith(at(0, 0), text); err == nil || diag.Hint(err) != "" {
			t.Errorf("%q: hint %q", text, diag.Hint(err))
		}
	}
	other := at(0, 0)
	other.ZAxis = 'A'
	_, _, err := runWith(other, "G0 X1 Z1")
	if err == nil || err.Error() != "t.nc:1:7: axis Z is not supported" || !isUnsupported(err) {
		t.Errorf("Z beside another focus axis: %v", err)
	}
	other.PowerWord = 'Q'
	for _, text := range []string{"S-1", "Q-1"} {
		if _, _, err := runWith(other, text); err == nil {
			t.Errorf("%q passed", text)
		}
	}
	inches := at(0, 0)
	inches.Inches = true
	if _, _, err := runWith(inches, "F5\nG21 G1 X1"); err == nil || !isUnsupported(err) {
		t.Errorf("F from before G21: %v", err)
	}
}
