package follow

import (
	"strings"
	"testing"
)

func TestFailuresInWords(t *testing.T) {
	for kind := OffSurface; kind <= HeadClose; kind++ {
		f := Failure{Line: 3, Last: 77, X: 1.5, Y: -2, Kind: kind, Amount: 12.34567}
		said := f.String()
		if said == "" || strings.Contains(said, "%!") || kind != TooDeep && kind != TooLong && !strings.Contains(said, "at X1.500 Y-2.000") {
			t.Errorf("kind %d: %q", kind, said)
		}
		want := map[FailureKind]string{
			TooSteep: "rate of 12.3 mm/min", TooDeep: "up to line 77, at one Z, need 12.35 times", OutOfRange: "by 12.346 mm",
			NoRoom: "out by 12.3457 mm", NotFlat: "out by 12.346 mm", NoWay: "by 12.346 mm", TooLong: "with 12 characters", HeadClose: "by 12.346 mm",
		}[kind]
		if !strings.Contains(said, want) {
			t.Errorf("kind %d: %q, want %q", kind, said, want)
		}
	}
}
