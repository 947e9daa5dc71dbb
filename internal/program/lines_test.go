package program

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A changed line of any kind gets the checksum that it then has: what is
// written can be read, and reading holds every checksum to its line.
func TestChangedLinesAreCheckedAnew(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := genLine(t)
		if strings.Contains(text, ";") || strings.TrimSpace(text) == "" {
			return
		}
		mark := rapid.SampledFrom([]string{"", byteOrderMark}).Draw(t, "mark")
		eol := rapid.SampledFrom([]string{"", "\n", "\r\n"}).Draw(t, "eol")
		tail := rapid.SampledFrom([]string{"", " ", " ;c", "(c)"}).Draw(t, "tail")
		text = mark + string(appendChecksum([]byte(text), 0)) + tail + eol
		b, err := NewReader(strings.NewReader(text), "t.nc").Next()
		if err != nil {
			t.Fatal(err)
		}
		changes := genChanges(t, b)
		if len(after(b, changes)) == 0 {
			return // a checksum of nothing is not read
		}
		before := rapid.SampledFrom([]string{"", "G1 X1\n"}).Draw(t, "before")
		out := string(AppendChanged([]byte(before), b, changes)[len(before):])
		got, err := NewReader(strings.NewReader(out), "t.nc").Next()
		if err != nil {
			t.Fatalf("%q with %v became %q: %v", text, changes, out, err)
		}
		if got.Checksum == 0 || !strings.HasSuffix(out, tail+eol) || !strings.HasPrefix(out, mark) {
			t.Errorf("%q with %v became %q", text, changes, out)
		}
	})
}

// New lines in a program with checksums carry one, also beside a line that
// has none itself.
func TestNewLinesAreChecked(t *testing.T) {
	r := NewReader(strings.NewReader("G1 X0\nN3 T0*57\n(c)\n"), "t.nc")
	for i, want := range []string{"N4 T0\n", "N4 T0*62\n", "N4 T0*62\n"} {
		b, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		got := string(AppendBlock(nil, b, []Change{{Letter: 'N', Num: Int(4)}, {Letter: 'T'}}))
		if got != want || b.Checked() != (i > 0) {
			t.Errorf("beside %q: %q, want %q", b.Raw, got, want)
		}
	}
}

func TestLineNumber(t *testing.T) {
	for text, want := range map[string]int64{"N7 G1": 7, "G1 N8": 8, "N1 M110 N9": 9, "M110 N3": 3, "N5 M117 N6": 5} {
		if n, words := one(t, text).LineNumber(); words == 0 || n != want {
			t.Errorf("%q: %d, %d", text, n, words)
		}
	}
	if n, words := one(t, "G1 X1").LineNumber(); words > 0 {
		t.Errorf("number %d of none", n)
	}
}
