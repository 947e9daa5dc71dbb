package placed_test

import (
	"fmt"
	"strings"
	"testing"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite/placed"
)

// fixed is a number of thousandths.
func fixed(thousandths float64) string {
	n := int64(thousandths)
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	return fmt.Sprintf("%s%d.%03d", sign, n/1000, n%1000)
}

// No program panics, or is refused without saying where; and what is placed does what the
// program does.
func FuzzCompose(f *testing.F) {
	f.Add("%\nO12\nG21 G90\nM4 S0\nG0 X0.5 Y0\nG1 X10 S500 F3000 (side)\nY10\nG2 X1 Y1 I1 J1\nM5\nM2\n%\n", 30.0)
	f.Add("G91\nG20 X1\nG3 X1 R4 F1\nG93 X1 F3\nG4 P1\nM0\nM30", 90.0)
	f.Add("/N5 M7\nG0 X1 Y1 Z5\nM8\nG80\nM123 P4\nT3 M6", -720.5)
	f.Fuzz(func(t *testing.T, text string, deg float64) {
		if !(deg > -1e4 && deg < 1e4) {
			return
		}
		list := []placed.Place{{Number: 1, X: 12.5, RotateDeg: deg}, {Number: 2, Y: -7}}
		made, _, err, failed := walk(text, list, machine.DefaultConfig())
		if err == nil {
			err = failed
		}
		if err == nil {
			return
		}
		if e := diag.As(err); e == nil || e.Line == 0 && !strings.Contains(err.Error(), "empty") {
			t.Fatalf("%v\n%s", err, made)
		}
	})
}
