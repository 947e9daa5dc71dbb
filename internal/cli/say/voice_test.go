package say

import (
	"bytes"
	"testing"
)

// A name that a terminal would obey, or show turned round, is shown as it is.
func TestNamesDoNotSteerTheTerminal(t *testing.T) {
	var b bytes.Buffer
	Voice{W: &b}.Line("open %s: not found\nµ é\t日", "a\x1b[31m\a\u202eb\x9b\u009b")
	if got, want := b.String(), "sagitta: open a\\x1b[31m\\a\\u202eb\ufffd\\u009b: not found\nµ é\t日\n"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}
