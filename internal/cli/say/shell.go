package say

import (
	"strings"
)

// Option writes an option and its value as they are typed.
func Option(name, value string) string {
	if strings.HasPrefix(value, "-") && strings.HasPrefix(name, "--") {
		return name + "=" + Quote(value)
	}
	return name + " " + Quote(value)
}

// Quote lets a shell take a word as it is.
func Quote(s string) string {
	special := func(c rune) bool {
		plain := c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c > 127
		return !plain && !strings.ContainsRune("-_./,=+:@%", c)
	}
	if s != "" && !strings.ContainsFunc(s, special) {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}
