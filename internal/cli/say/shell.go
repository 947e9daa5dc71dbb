package say

import (
	"strings"
)

// Args are an option and its value as words of a command line.
func Args(name, value string) []string {
	if strings.HasPrefix(value, "-") && strings.HasPrefix(name, "--") {
		return []string{name + "=" + value}
	}
	return []string{name, value}
}

// Option writes an option and its value as they are typed.
func Option(name, value string) string { return quoted(Args(name, value)) }

// quoted are words as they are typed.
func quoted(args []string) string {
	var typed []string
	for _, a := range args {
		if name, value, is := strings.Cut(a, "="); is && strings.HasPrefix(a, "--") {
			a = name + "=" + Quote(value)
		} else {
			a = Quote(a)
		}
		typed = append(typed, a)
	}
	return strings.Join(typed, " ")
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
