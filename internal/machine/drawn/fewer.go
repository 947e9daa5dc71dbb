package drawn

import (
	"flag"
	"strconv"
	"testing"
)

// Fewer has a test draw only pct percent of the cases that -rapid.checks asks for: one
// whose cases take long. It is for tests that do not run beside others.
func Fewer(t testing.TB, pct int) {
	t.Helper()
	checks := flag.Lookup("rapid.checks")
	was := checks.Value.String()
	n, err := strconv.Atoi(was)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = checks.Value.Set(was) })
	if err := checks.Value.Set(strconv.Itoa(max(1, n*pct/100))); err != nil {
		t.Fatal(err)
	}
}
